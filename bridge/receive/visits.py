"""A document bundle of ours as the visit that it was made from."""

from __future__ import annotations

from typing import Any

from bridge.fhir.elements import term
from bridge.fhir.own import first_word
from bridge.fhir.systems import system
from bridge.fhir.tell.administrative import key_of
from bridge.fhir.times import from_datetime
from bridge.receive.around import allergies, cautions, medicines, softeners
from bridge.receive.consents import sharing_consent, treatment_consent
from bridge.receive.ears import ear_record
from bridge.receive.hearing import weber
from bridge.receive.index import Index
from bridge.receive.people import client, clinic, family_doctor, practitioners
from bridge.receive.plans import advice, follow_up, requests
from bridge.receive.referral import referral
from bridge.receive.values import kept
from bridge.visit import EARS, Visit

Json = dict[str, Any]

_PLACES = {"AMB": "clinic", "HH": "home", "FLD": "care home"}


def read_visit(index: Index) -> Visit:
    """Raises KeyError, TypeError, ValueError and the like where the bundle is not one of ours.

    What it took into the visit is used in the index afterwards; what is left would be lost.
    """
    bundle = index.bundle
    patient = index.only("Patient")
    encounter = index.only("Encounter")
    composition = index.only("Composition")
    provenance = index.only("Provenance")
    if not (patient and encounter and composition and provenance):
        raise ValueError("not one Patient, Encounter, Composition and Provenance")
    period = encounter["period"]
    custodian = index.at(composition.get("custodian"))
    for author in composition.get("author", ()):
        index.at(author)
    empty = {_section_key(s): s.get("emptyReason") for s in composition.get("section", ())}
    return Visit.model_validate(
        kept(
            number=_number(encounter),
            version=_version(bundle["identifier"]["value"]),
            replaces=_replaces(composition),
            clinic=clinic(custodian) if custodian else None,
            practitioners=practitioners(index),
            client=client(patient),
            family_doctor=family_doctor(index, patient),
            start=from_datetime(period["start"]),
            end=from_datetime(period["end"]) if period.get("end") else None,
            recorded_at=from_datetime(provenance["occurredDateTime"]),
            place=_PLACES[encounter["class"]["code"]],
            attendance=first_word("attendance", encounter.get("type", ())),
            reasons=tuple(term(r) for r in encounter.get("reasonCode", ())),
            cautions=cautions(index),
            allergies=allergies(index, empty.get("allergies-and-adverse-reaction")),
            medicines=medicines(index, empty.get("medications-and-medical-devices")),
            softeners=softeners(index),
            access_needs=tuple(o["valueString"] for o in index.observations("access-need")),
            consent=treatment_consent(index),
            sharing=sharing_consent(index, empty.get("consent-for-information-sharing")),
            **{ear: ear_record(index, ear) for ear in EARS},
            weber=weber(index),
            advice=advice(index),
            follow_up=follow_up(index),
            requests=requests(index),
            no_request="nilknown" in _reason(empty.get("plan-and-requested-actions")),
            referral=referral(index),
            note=(index.observation("visit-note") or {}).get("valueString"),
            approved=_approval(index, composition),
            source_sha256=_source(provenance),
        )
    )


def _number(encounter: Json) -> str:
    return str(next(i["value"] for i in encounter["identifier"] if _has(i.get("type"), "VN")))


def _version(issue: str) -> int:
    """From the letter's own identifier: `summary/2026-014/2`, `summary/2026-014/2/draft`."""
    return int(issue.removesuffix("/draft").rsplit("/", 1)[1])


def _replaces(composition: Json) -> int | None:
    for relation in composition.get("relatesTo", ()):
        if relation.get("code") == "replaces":
            return _version(relation["targetIdentifier"]["value"])
    return None


def _approval(index: Index, composition: Json) -> dict[str, str] | None:
    for attester in composition.get("attester", ()):
        who = index.at(attester.get("party"))
        if who:
            return {"by": key_of(who), "at": from_datetime(attester["time"])}
    return None


def _source(provenance: Json) -> str | None:
    for entity in provenance.get("entity", ()):
        identifier = entity.get("what", {}).get("identifier", {})
        if identifier.get("system") == system("sha-256"):
            return str(identifier["value"])
    return None


def _section_key(section: Json) -> str:
    """The section's UK heading code, by which we tell ours apart."""
    codes = section.get("code", {}).get("coding", ())
    return str(next((c.get("code") for c in codes if c.get("system") == system("uk-headings")), ""))


def _reason(empty: Json | None) -> list[str]:
    return [str(c.get("code")) for c in (empty or {}).get("coding", ())]


def _has(concept: Json | None, code: str) -> bool:
    return code in _reason(concept)
