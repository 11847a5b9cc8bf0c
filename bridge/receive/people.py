"""Client, practitioners, clinic and family doctor from their resources."""

from __future__ import annotations

from typing import Any

from bridge.fhir.elements import address, contacts, name
from bridge.fhir.own import first_word, fixed, word
from bridge.fhir.registers import register_key
from bridge.fhir.systems import OWN, system
from bridge.fhir.tell.administrative import key_of
from bridge.receive.index import Index
from bridge.receive.values import kept, part_of_visit
from bridge.regions import organisation_systems
from bridge.visit import Client, Clinic, FamilyDoctor, Practitioner

Json = dict[str, Any]


def client(index: Index, patient: Json, encounter: Json) -> Client:
    names = patient.get("name", ())
    legal = next((n for n in names if n.get("use") == "official"), names[0] if names else {})
    usual = next((n for n in names if n.get("use") == "usual"), None)
    nhs: Json = next((i for i in patient.get("identifier", ()) if i.get("system") == system("nhs-number")), {})
    points = patient.get("telecom", ())
    return part_of_visit(
        Client,
        kept(
            number=next((i["value"] for i in patient.get("identifier", ()) if "MR" in _codes(i.get("type"))), None),
            legal_name=name(legal),
            usual_name=name(usual) if usual else None,
            former_names=tuple(name(n) for n in names if n.get("use") == "old"),
            birth_date=patient.get("birthDate"),
            sex=patient.get("gender"),
            nhs_number=nhs.get("value"),
            nhs_number_status=next(
                (next(iter(_codes(e["valueCodeableConcept"])), None) for e in nhs.get("extension", ())), None
            ),
            identifiers=tuple(
                {"value": i["value"], "assigner": i["assigner"]["display"]}
                for i in patient.get("identifier", ())
                if i.get("assigner", {}).get("display")
            ),
            address=next((address(a) for a in patient.get("address", ())), None),
            phones=contacts(points, "phone"),
            emails=contacts(points, "email"),
            language=next((c["language"].get("text") for c in patient.get("communication", ())), None),
            guardians=tuple(_guardian(index, encounter, index.use(r)) for r in index.of_type("RelatedPerson")),
        ),
    )


def _guardian(index: Index, encounter: Json, related: Json) -> dict[str, Any]:
    relationships = related.get("relationship", ())
    said = first_word("guardian", relationships)
    came = (p.get("individual") for p in encounter.get("participant", ()))
    return kept(
        name=name(related["name"][0]),
        relationship=next((r.get("text") for r in relationships if not word("guardian", r)), None),
        parental_responsibility=None if said is None else said == "parental responsibility",
        phone=next(iter(contacts(related.get("telecom", ()), "phone")), None),
        accompanied=any(index.at(p) is related for p in came),
    )


def practitioners(index: Index) -> tuple[Practitioner, ...]:
    roles = {id(index.at(r["practitioner"])): r for r in index.of_type("PractitionerRole")}
    found = [(index.use(p), roles.get(id(p))) for p in index.of_type("Practitioner")]
    return tuple(_practitioner(p, index.use(role) if role else {}) for p, role in found)


def _practitioner(practitioner: Json, role: Json) -> Practitioner:
    registrations = [(register_key(i.get("system", "")), i["value"]) for i in practitioner.get("identifier", ())]
    qualifications = [q.get("code") for q in practitioner.get("qualification", ())]
    return part_of_visit(
        Practitioner,
        kept(
            key=key_of(practitioner),
            name=next((name(n) for n in practitioner.get("name", ())), None),
            role=next((c.get("text") for c in role.get("code", ())), None),
            registrations=tuple({"register_key": k, "number": n} for k, n in registrations if k),
            no_register=first_word("register", qualifications) == "none",
            phone=next(iter(contacts(practitioner.get("telecom", ()), "phone")), None),
        ),
    )


def clinic(organization: Json) -> Clinic:
    points = organization.get("telecom", ())
    hours = [c["purpose"].get("text") for c in organization.get("contact", ()) if "purpose" in c]
    return part_of_visit(
        Clinic,
        kept(
            name=organization["name"],
            organisation_code=organisation_code(organization),
            address=next((address(a) for a in organization.get("address", ())), None),
            phone=next(iter(contacts(points, "phone")), None),
            hours=next(iter(hours), None),
            email=next(iter(contacts(points, "email")), None),
        ),
    )


def family_doctor(index: Index, patient: Json) -> FamilyDoctor | None:
    """Known through a reference to an Organization; none, unknown or abroad through our own code."""
    for reference in patient.get("generalPractitioner", ()):
        organization = index.at(reference)
        if organization:
            return _known_doctor(organization)
        identifier = reference.get("identifier", {})
        if identifier.get("system") == OWN:
            concept = {"coding": [{"system": OWN, "code": identifier.get("value")}]}
            answer = word("doctor", concept)
            note = reference.get("display")
            return part_of_visit(
                FamilyDoctor, kept(answer=answer, note=None if note == _default_note(answer) else note)
            )
    return None


def _known_doctor(organization: Json) -> FamilyDoctor:
    points = organization.get("telecom", ())
    doctors = [c["name"].get("text") for c in organization.get("contact", ()) if "name" in c]
    return part_of_visit(
        FamilyDoctor,
        kept(
            answer="known",
            key=key_of(organization) or None,
            practice=organization.get("name"),
            organisation_code=organisation_code(organization),
            doctor=next(iter(doctors), None),
            address=next((address(a) for a in organization.get("address", ())), None),
            phone=next(iter(contacts(points, "phone")), None),
            email=next(iter(contacts(points, "email")), None),
        ),
    )


def _default_note(answer: str | None) -> str | None:
    return str(fixed("doctor", answer)["text"]) if answer else None


def organisation_code(organization: Json) -> str | None:
    """The organisation's code in the national register, where it has one."""
    known = {system(name) for name in organisation_systems()}
    codes = (i["value"] for i in organization.get("identifier", ()) if _numbers_it(i, known))
    return next(codes, None)


def _numbers_it(identifier: Json, known: set[str]) -> bool:
    return identifier.get("system") in known or ("system" not in identifier and "XX" in _codes(identifier.get("type")))


def _codes(concept: Json | None) -> list[str]:
    return [str(c.get("code")) for c in (concept or {}).get("coding", ())]
