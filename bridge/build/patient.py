"""Patient: the client, with what tells them from anybody else."""

from __future__ import annotations

from bridge.build.context import Built, Context, Json
from bridge.fhir.elements import human_name, postal, telecom
from bridge.fhir.ids import reference
from bridge.fhir.languages import language_concept
from bridge.fhir.own import coding, fixed
from bridge.fhir.systems import OWN, system
from bridge.visit.people import FamilyDoctor, Identifier

NHS_STATUS_EXTENSION = "https://fhir.hl7.org.uk/StructureDefinition/Extension-UKCore-NHSNumberVerificationStatus"


def build_patient(context: Context) -> Built:
    client = context.visit.client
    names = [human_name(client.legal_name, "official")]
    if client.usual_name:
        names.append(human_name(client.usual_name, "usual"))
    names += [human_name(name, "old") for name in client.former_names]
    doctor = _family_doctor(context, context.visit.family_doctor)
    resource = {
        "resourceType": "Patient",
        "id": context.ids.client(client),
        "identifier": _identifiers(context),
        "name": names,
        **({"telecom": telecom(client.phones, client.emails)} if client.phones or client.emails else {}),
        **({"gender": client.sex} if client.sex else {}),
        **({"birthDate": client.birth_date} if client.birth_date else {}),
        **({"address": [postal(client.address, context.region.district)]} if client.address else {}),
        **({"communication": _spoken(client.language)} if client.language else {}),
        **({"generalPractitioner": [doctor]} if doctor else {}),
        **({"managingOrganization": context.clinic} if context.visit.clinic else {}),
    }
    return context.add("patient", resource)


def _spoken(language: str) -> list[Json]:
    return [{"language": language_concept(language), "preferred": True}]


def _identifiers(context: Context) -> list[Json]:
    client = context.visit.client
    found: list[Json] = []
    if client.nhs_number:
        status = client.nhs_number_status
        found.append(
            {
                **(
                    {
                        "extension": [
                            {
                                "url": NHS_STATUS_EXTENSION,
                                "valueCodeableConcept": {"coding": [coding(f"uk-nhs-number-status:{status}")]},
                            }
                        ]
                    }
                    if status
                    else {}
                ),
                "use": "official",
                "system": system("nhs-number"),
                "value": client.nhs_number,
            }
        )
    if client.number:
        kind = {"coding": [coding("v2-0203:MR")]}
        found.append({"use": "usual", "type": kind, "system": context.ids.system("client"), "value": client.number})
    else:
        found.append(context.local_identifier("client", context.ids.client(client)))
    return [*found, *(_of_others(context, i) for i in client.identifiers)]


def _of_others(context: Context, identifier: Identifier) -> Json:
    """A number that somebody else gave, under a system that stands for them with this practice: some want a system."""
    system = context.ids.system(f"numbers of {' '.join(identifier.assigner.casefold().split())}")
    return {"system": system, "value": identifier.value, "assigner": {"display": identifier.assigner}}


def _family_doctor(context: Context, doctor: FamilyDoctor | None) -> Json | None:
    if doctor is None:
        return None
    if doctor.answer == "known":
        return reference(family_doctor_id(context))
    answer = fixed("doctor", doctor.answer)
    code = answer["coding"][-1]["code"]
    return {"identifier": {"system": OWN, "value": code}, "display": doctor.note or answer["text"]}


def family_doctor_id(context: Context) -> str:
    doctor = context.visit.family_doctor
    assert doctor is not None
    return context.ids.of("Organization", "family-doctor", doctor.key or doctor.practice, *context.theirs)
