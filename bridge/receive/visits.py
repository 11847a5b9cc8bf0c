"""What a bundle of ours tells of one visit, as the visit that it was made from."""

from __future__ import annotations

from typing import Any

from bridge.ear_words import EARS
from bridge.fhir.elements import term
from bridge.fhir.own import first_word, word
from bridge.fhir.systems import system
from bridge.fhir.tell.administrative import key_of
from bridge.fhir.times import from_datetime
from bridge.receive.apart import is_approval
from bridge.receive.around import allergies, cautions, medicines, softeners
from bridge.receive.consents import sharing_consent, treatment_consent
from bridge.receive.ears import ear_record
from bridge.receive.hearing import weber
from bridge.receive.index import Index
from bridge.receive.people import client, clinic, family_doctor, practitioners
from bridge.receive.plans import advice, follow_up, requests
from bridge.receive.referral import not_referred, referral
from bridge.receive.values import kept
from bridge.visit import Visit

Json = dict[str, Any]

_PLACES = {"AMB": "clinic", "HH": "home", "FLD": "care home"}


def read_visit(index: Index) -> Visit:
    """Raises KeyError, TypeError, ValueError and the like where the bundle is not one of ours.

    What it took into the visit is used in the index afterwards; what is left would be lost.
    """
    patient = index.only("Patient")
    encounter = index.only("Encounter")
    composition = index.only("Composition")
    provenance, approval = _provenances(index)
    if not (patient and encounter and provenance):
        raise ValueError("not one Patient, Encounter and Provenance")
    if index.bundle["type"] == "document" and not (composition and _same_version(index.bundle, provenance)):
        raise ValueError("not one Composition, of the version that its Provenance names")
    period = encounter["period"]
    custodian = index.at(encounter.get("serviceProvider"))
    for agent in provenance["agent"]:
        index.at(agent.get("who"))
    empty = _empty(index, composition)
    return Visit.model_validate(
        kept(
            number=_number(encounter),
            version=_version_told(provenance, "source"),
            replaces=_version_told(provenance, "revision"),
            clinic=clinic(custodian) if custodian else None,
            practitioners=practitioners(index),
            client=client(index, patient, encounter),
            family_doctor=family_doctor(index, patient),
            start=from_datetime(period["start"]),
            end=from_datetime(period["end"]) if period.get("end") else None,
            recorded_at=from_datetime(provenance["occurredDateTime"]),
            place=_PLACES[encounter["class"]["code"]],
            attendance=first_word("attendance", encounter.get("type", ())),
            reasons=tuple(term(r) for r in encounter.get("reasonCode", ())),
            cautions=cautions(index),
            allergies=allergies(index, empty.get("allergies")),
            medicines=medicines(index, empty.get("medications")),
            softeners=softeners(index),
            access_needs=tuple(o["valueString"] for o in index.observations("access-need")),
            consent=treatment_consent(index),
            sharing=sharing_consent(index, empty.get("sharing")),
            **{ear: ear_record(index, ear) for ear in EARS},
            weber=weber(index),
            advice=advice(index),
            follow_up=follow_up(index),
            requests=requests(index),
            no_request="nilknown" in _reason(empty.get("actions")),
            referral=referral(index, patient),
            not_referred=not_referred(provenance),
            note=(index.observation("visit-note") or {}).get("valueString"),
            approved=_approval(index, composition, approval),
            source_sha256=_source(provenance),
        )
    )


def _number(encounter: Json) -> str:
    return str(next(i["value"] for i in encounter["identifier"] if _has(i.get("type"), "VN")))


def _provenances(index: Index) -> tuple[Json | None, Json | None]:
    """Where the record came from, and who approved it where that is not in a Composition; used."""
    found = list(index.of_type("Provenance"))
    mine, approvals = [p for p in found if not is_approval(p)], [p for p in found if is_approval(p)]
    if len(mine) != 1 or len(approvals) > 1:
        return None, None
    return index.use(mine[0]), index.use(approvals[0]) if approvals else None


def _same_version(bundle: Json, provenance: Json) -> bool:
    """Whether the letter's own identifier (`summary/2026-014/2`, drafts with `/draft`) has the record's version."""
    issue = bundle["identifier"]["value"].removesuffix("/draft").rpartition("/")[2]
    return bool(issue == str(_version_told(provenance, "source")))


def _version_told(provenance: Json, role: str) -> int | None:
    """From the identifier of a version of the record: `2026-014/2`."""
    for entity in provenance.get("entity", ()):
        identifier = entity["what"].get("identifier", {})
        if entity["role"] == role and word("record", identifier.get("type")) == "version":
            return int(identifier["value"].rpartition("/")[2])
    return None


def _empty(index: Index, composition: Json | None) -> dict[str, Json | None]:
    """Why there is nothing, by the heading: from the Composition's sections, or from Lists where there is none."""
    if composition:
        return {_section_key(s): s.get("emptyReason") for s in composition.get("section", ())}
    lists = [index.use(found) for found in index.of_type("List") if "emptyReason" in found]
    return {_section_key(found): found["emptyReason"] for found in lists}


def _approval(index: Index, composition: Json | None, approval: Json | None) -> dict[str, str] | None:
    for attester in composition.get("attester", ()) if composition else ():
        who = index.at(attester.get("party"))
        if who:
            return {"by": key_of(who), "at": from_datetime(attester["time"])}
    who = index.at(approval["agent"][0]["who"]) if approval and not composition else None
    return {"by": key_of(who), "at": from_datetime(approval["occurredDateTime"])} if approval and who else None


def _source(provenance: Json) -> str | None:
    for entity in provenance.get("entity", ()):
        identifier = entity.get("what", {}).get("identifier", {})
        if identifier.get("system") == system("sha-256"):
            return str(identifier["value"])
    return None


def _section_key(section: Json) -> str:
    """The section's own code, by which we tell ours apart under any heading."""
    return word("section", section.get("code")) or ""


def _reason(empty: Json | None) -> list[str]:
    return [str(c.get("code")) for c in (empty or {}).get("coding", ())]


def _has(concept: Json | None, code: str) -> bool:
    return code in _reason(concept)
