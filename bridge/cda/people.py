"""People, organisations and the tool as they stand in a header: client, practitioner, guardian, clinic, device.

Each function writes what CDA has an element for; its twin reads that back. `bridge.cda.rest` holds what is left.
"""

from __future__ import annotations

from typing import Any

from bridge.cda.found import Found
from bridge.cda.names import located, named, names_of, organisation_name, reach_of, reached
from bridge.cda.values import (
    cd,
    concept_of,
    identifier_of,
    ii,
    reference_of,
    resource_id,
    resource_ii,
    time_of,
    ts,
)
from bridge.cda.xml import Node, every, node, one, words
from bridge.fhir.systems import system
from bridge.shapes import Json

NHS_STATUS = "https://fhir.hl7.org.uk/StructureDefinition/Extension-UKCore-NHSNumberVerificationStatus"
TRACED = "01"
"""UK Core, NHS number verification status: present and verified."""
UNTRACED_ROOT = "2.16.840.1.113883.2.1.3.2.4.18.23"
"""NHS numbers that were not traced have a root of their own in CDA; see `mappings/cda/oids.csv`."""
GENDERS = {"male": "M", "female": "F", "other": "UN"}
"""FHIR R4, administrative gender, to HL7 v3 AdministrativeGender. What is unknown is a null flavour."""
GENDER_SYSTEM = "2.16.840.1.113883.5.1"


def ids(resource: Json, *others: Json) -> list[Node]:
    """The id of a resource, those of others that stand in the same element, then the identifiers of the last."""
    found = [resource_ii("id", one) for one in (resource, *others)]
    numbers = [*(others or (resource,))][-1].get("identifier")
    made = [_number(i) for i in (numbers if isinstance(numbers, list) else [numbers]) if isinstance(i, dict)]
    return [*found, *(one for one in made if one is not None)]


def _number(identifier: Json) -> Node | None:
    """An identifier; an NHS number by whether it was traced."""
    if identifier.get("system") != system("nhs-number"):
        return ii("id", identifier)
    traced = any(
        c.get("code") == TRACED
        for e in identifier.get("extension") or ()
        if isinstance(e, dict) and e.get("url") == NHS_STATUS
        for c in (e.get("valueCodeableConcept") or {}).get("coding") or ()
    )
    return ii("id", identifier, root=None if traced else UNTRACED_ROOT)


def numbers_of(found: Node) -> tuple[list[str], Json]:
    """The ids of resources among the ids of an element, and its identifiers under `identifier`."""
    ours = [id for place in every(found, "id") if (id := resource_id(place))]
    others = [i for place in every(found, "id") if not resource_id(place) and (i := identifier_of(place))]
    return ours, {"identifier": others} if others else {}


def organisation(tag: str, resource: Json) -> Node:
    """An Organization with all that CDA has for it."""
    name = resource.get("name")
    return node(
        tag,
        *ids(resource),
        node("name", text=name) if isinstance(name, str) else None,
        *reached("telecom", resource.get("telecom")),
        *located("addr", resource.get("address")),
    )


def organisation_of(found: Node | None, into: Found) -> Json | None:
    """A reference to the Organization of an element, which is kept; None where there is nothing in it."""
    if found is None:
        return None
    ours, numbers = numbers_of(found)
    name = organisation_name(found)
    said = {**numbers, **({"name": name} if name else {}), **reach_of(found)}
    return into.keep("Organization", ours, said) if said or ours else None


def custodian(resource: Json | None) -> Node:
    """The custodian; its place has one phone and one address."""
    made = organisation("representedCustodianOrganization", resource) if resource else None
    if made is None:
        made = node("representedCustodianOrganization", node("id", nullFlavor="NI"))
    for name in ("telecom", "addr"):
        for surplus in every(made, name)[1:]:
            made.remove(surplus)
    return node("custodian", node("assignedCustodian", made))


def record_target(patient: Json, clinic: Json | None, guardians: list[Json]) -> Node:
    """The client."""
    gender, born = patient.get("gender"), patient.get("birthDate")
    code = GENDERS.get(str(gender))
    known = node("administrativeGenderCode", code=code, codeSystem=GENDER_SYSTEM) if code else None
    person = node(
        "patient",
        *named("name", patient.get("name")),
        known if code or not gender else node("administrativeGenderCode", nullFlavor="UNK"),
        ts("birthTime", born) if born else None,
        *(_guardian(one) for one in guardians),
        *_spoken(patient.get("communication")),
    )
    role = node(
        "patientRole",
        *ids(patient),
        *located("addr", patient.get("address")),
        *reached("telecom", patient.get("telecom")),
        person,
        organisation("providerOrganization", clinic) if clinic else None,
    )
    return node("recordTarget", role)


def _spoken(languages: Any) -> list[Node]:
    made = []
    for language in languages if isinstance(languages, list) else ():
        codings = (language.get("language") or {}).get("coding") or ()
        code = next((c.get("code") for c in codings if c.get("system") == system("bcp-47")), None)
        preferred = language.get("preferred")
        liked = node("preferenceInd", value=str(preferred).lower()) if isinstance(preferred, bool) else None
        if code:
            made.append(node("languageCommunication", node("languageCode", code=code), liked))
    return made


def patient_of(target: Node, into: Found) -> Json:
    """A reference to the client, who is kept with those who speak for them."""
    role, person = one(target, "patientRole"), one(target, "patientRole", "patient")
    ours, numbers = numbers_of(role) if role is not None else ([], {})
    gender, born = one(person, "administrativeGenderCode"), time_of(one(person, "birthTime"))
    genders = {v: k for k, v in GENDERS.items()}
    sex = None if gender is None else genders.get(gender.get("code") or "")
    sex = "unknown" if gender is not None and gender.get("nullFlavor") == "UNK" else sex
    spoken = [s for place in every(person, "languageCommunication") if (s := _language_of(place))]
    clinic = organisation_of(one(role, "providerOrganization"), into)
    said = {
        **numbers,
        **names_of(person),
        **(reach_of(role) if role is not None else {}),
        **({"gender": sex} if sex else {}),
        **({"birthDate": born[:10]} if born else {}),
        **({"communication": spoken} if spoken else {}),
        **({"managingOrganization": clinic} if clinic else {}),
    }
    reference = into.keep("Patient", ours, said)
    for place in every(person, "guardian"):
        guardian = names_of(one(place, "guardianPerson"))
        mine, others = numbers_of(place)
        into.keep("RelatedPerson", mine, {**others, "patient": reference, **guardian, **reach_of(place)})
    return reference


def _language_of(found: Node) -> Json | None:
    code, liked = one(found, "languageCode"), one(found, "preferenceInd")
    if code is None or not code.get("code"):
        return None
    said = {"language": {"coding": [{"system": system("bcp-47"), "code": code.get("code")}]}}
    preferred = {"true": True, "false": False}.get("" if liked is None else liked.get("value") or "")
    return {**said, **({} if preferred is None else {"preferred": preferred})}


def _guardian(person: Json) -> Node:
    return node(
        "guardian",
        *ids(person),
        *located("addr", person.get("address")),
        *reached("telecom", person.get("telecom")),
        node("guardianPerson", *named("name", person.get("name"))),
    )


def related(person: Json) -> Node:
    """Somebody who speaks for the client or came along, by what they are to the client."""
    known = person.get("relationship")
    relation = known[0] if isinstance(known, list) and known else None
    entity = node(
        "associatedEntity",
        *ids(person),
        cd("code", relation) if relation else None,
        *located("addr", person.get("address")),
        *reached("telecom", person.get("telecom")),
        node("associatedPerson", *named("name", person.get("name"))),
        classCode="PRS",
    )
    return node("participant", entity, typeCode="IND")


def related_of(entity: Node, patient: Json, into: Found) -> Json:
    """A reference to the RelatedPerson of an `associatedEntity`, who is kept."""
    ours, numbers = numbers_of(entity)
    relation = concept_of(one(entity, "code"))
    said = {
        **numbers,
        "patient": patient,
        **({"relationship": [relation]} if relation else {}),
        **names_of(one(entity, "associatedPerson")),
        **reach_of(entity),
    }
    return into.keep("RelatedPerson", ours, said)


def assigned(tag: str, role: Json, practitioner: Json, clinic: Json | None) -> Node:
    """A practitioner in a role, or (`role` being the same resource) without one."""
    person = practitioner or (role if role.get("resourceType") == "Practitioner" else {})
    codes = role.get("code") if role.get("resourceType") == "PractitionerRole" else None
    points = [*(_list(role.get("telecom"))), *(_list(person.get("telecom")) if person is not role else ())]
    return node(
        tag,
        *(ids(role, practitioner) if practitioner and practitioner is not role else ids(role)),
        cd("code", codes[0]) if isinstance(codes, list) and codes else None,
        *located("addr", person.get("address")),
        *reached("telecom", points),
        node("assignedPerson", *named("name", person.get("name"))) if person else None,
        organisation("representedOrganization", clinic) if clinic else None,
    )


def assigned_of(found: Node, into: Found) -> Json | None:
    """A reference to who stands in an `assignedAuthor` or `assignedEntity`: a role, a practitioner or a device."""
    ours, numbers = numbers_of(found)
    clinic = organisation_of(one(found, "representedOrganization"), into)
    tool = one(found, "assignedAuthoringDevice")
    if tool is not None:
        return into.keep("Device", ours, {**numbers, **_device_said(tool)})
    person, code = one(found, "assignedPerson"), concept_of(one(found, "code"))
    if person is None:
        return pointed_at(found) if ours else clinic
    who = {**numbers, **names_of(person)}
    place = reach_of(found)
    if len(ours) == 1 or not (ours or code or clinic):
        return into.keep("Practitioner", ours, {**who, **place})
    practitioner = into.keep("Practitioner", ours[1:], {**who, **{k: v for k, v in place.items() if k == "address"}})
    role = {
        "practitioner": practitioner,
        **({"organization": clinic} if clinic else {}),
        **({"code": [code]} if code else {}),
        **{k: v for k, v in place.items() if k == "telecom"},
    }
    return into.keep("PractitionerRole", ours[:1], role)


def device(tool: Json) -> Node:
    """The tool as an author: its name, and its version with it."""
    names = tool.get("deviceName")
    name = names[0].get("name") if isinstance(names, list) and names and isinstance(names[0], dict) else None
    versions = tool.get("version")
    version = versions[0].get("value") if isinstance(versions, list) and versions else None
    model = node("manufacturerModelName", text=name) if isinstance(name, str) else None
    said = " ".join(part for part in (name, version) if isinstance(part, str))
    software = node("softwareName", text=said) if isinstance(version, str) else None
    return node("assignedAuthor", *ids(tool), node("assignedAuthoringDevice", model, software))


def _device_said(tool: Node) -> Json:
    model, software = words(one(tool, "manufacturerModelName")), words(one(tool, "softwareName"))
    names = [{"name": text, "type": "model-name"} for text in (model or software,) if text]
    version = software.removeprefix(f"{model} ") if model else ""
    return {**({"deviceName": names} if names else {}), **({"version": [{"value": version}]} if version else {})}


def _list(value: Any) -> list[Any]:
    return value if isinstance(value, list) else []


def pointed_at(found: Node | None) -> Json | None:
    """The Reference of the first id of an element."""
    return next((r for place in every(found, "id") if (r := reference_of(place))), None)
