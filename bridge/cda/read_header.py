"""The header back: the Bundle without its entries, the Composition without its sections, and the people in it."""

from __future__ import annotations

from bridge.cda.found import Found
from bridge.cda.header import CONFIDENTIALITY, DOCTOR, RELATED
from bridge.cda.people import assigned_of, numbers_of, organisation_of, patient_of, pointed_at, related_of
from bridge.cda.values import coding_of, concept_of, identifier_of, period_of, resource_id, time_of
from bridge.cda.xml import Node, every, one, words
from bridge.fhir.systems import system
from bridge.shapes import Json


def read_header(root: Node, into: Found) -> tuple[Json, Json]:
    """The Bundle and the Composition as far as the header tells them; the people are kept in `into`."""
    number = one(root, "id")
    issue = None if resource_id(number) else identifier_of(number)
    bundle = {"resourceType": "Bundle", **({"identifier": issue} if issue else {}), "type": "document"}
    targets = every(root, "recordTarget")
    patient = patient_of(targets[0], into) if targets else None
    title, language, secret = one(root, "title"), one(root, "languageCode"), one(root, "confidentialityCode")
    grade = None if secret is None or secret.get("codeSystem") != CONFIDENTIALITY else secret.get("code")
    custody = one(root, "custodian", "assignedCustodian", "representedCustodianOrganization")
    authors = [a for place in every(root, "author") if (a := _who(one(place, "assignedAuthor"), into))]
    signed = _signed(root, into)
    patient = _participants(root, patient, into)
    visit = one(root, "componentOf", "encompassingEncounter")
    said = {
        "language": None if language is None else language.get("code"),
        "identifier": identifier_of(one(root, "setId")),
        "type": concept_of(one(root, "code")),
        "subject": patient,
        "encounter": None if visit is None else pointed_at(visit),
        "date": time_of(one(root, "effectiveTime")),
        "author": authors,
        "title": words(title) or None,
        "confidentiality": grade if grade != "N" else None,
        "attester": signed,
        "custodian": organisation_of(custody, into),
        "relatesTo": _replaced(root),
        "event": _events(root),
    }
    return bundle, {"resourceType": "Composition", **{key: value for key, value in said.items() if value}}


def _who(found: Node | None, into: Found) -> Json | None:
    return None if found is None else assigned_of(found, into)


def _signed(root: Node, into: Found) -> list[Json]:
    found = []
    for name, mode in (("legalAuthenticator", "legal"), ("authenticator", "professional")):
        for place in every(root, name):
            time, party = time_of(one(place, "time")), _who(one(place, "assignedEntity"), into)
            said = {"mode": mode, "time": time, "party": party}
            found.append({key: value for key, value in said.items() if value})
    return found


def _participants(root: Node, patient: Json | None, into: Found) -> Json | None:
    """The client, told now who the family doctor is; those who speak for them are kept."""
    for place in every(root, "participant"):
        function, entity = one(place, "functionCode"), one(place, "associatedEntity")
        if entity is None or patient is None:
            continue
        if function is not None and function.get("code") == DOCTOR:
            doctor = organisation_of(one(entity, "scopingOrganization"), into)
            known = into.at(patient)
            if doctor and known is not None:
                known.setdefault("generalPractitioner", []).append(doctor)
        elif entity.get("classCode") == "PRS":
            related_of(entity, patient, into)
    for place in every(root, "informationRecipient"):
        organisation_of(one(place, "intendedRecipient", "receivedOrganization"), into)
    return patient


def _replaced(root: Node) -> list[Json]:
    codes, found = {v: k for k, v in RELATED.items()}, []
    for place in every(root, "relatedDocument"):
        code, number = codes.get(place.get("typeCode") or ""), identifier_of(one(place, "parentDocument", "id"))
        if code and number:
            found.append({"code": code, "targetIdentifier": number})
    return found


def _events(root: Node) -> list[Json]:
    found = []
    for place in every(root, "documentationOf"):
        event = one(place, "serviceEvent")
        code, period = concept_of(one(event, "code")), period_of(one(event, "effectiveTime"))
        said = {**({"code": [code]} if code else {}), **({"period": period} if period else {})}
        if said:
            found.append(said)
    return found


def encounter_of(root: Node, patient: Json | None, into: Found) -> Json | None:
    """A reference to the visit of a foreign header, which is kept; None where it names none."""
    place = one(root, "componentOf", "encompassingEncounter")
    if place is None:
        return None
    ours, numbers = numbers_of(place)
    period, kind = period_of(one(place, "effectiveTime")), coding_of(one(place, "code"))
    known = kind and kind.get("system") == system("v3-ActCode") and kind.get("code")
    said = {
        **numbers,
        "status": "finished" if period and "end" in period else "unknown",
        "class": kind if known else {"system": system("v3-NullFlavor"), "code": "UNK"},
        **({"subject": patient} if patient else {}),
        **({"period": period} if period else {}),
    }
    return into.keep("Encounter", ours, said)
