"""Condition: the practitioner's impression, as certain as they are, and standing disorders."""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

from bridge.build.context import Built, Context, Json, one
from bridge.build.observation import coded, observe, when_component
from bridge.data import load_csv, table_path
from bridge.ear_words import EARS, Ear
from bridge.fhir.elements import concept, ear_site
from bridge.fhir.ids import reference
from bridge.fhir.nothing import says_none
from bridge.fhir.own import meanings, own_code, verified, word
from bridge.fhir.systems import OWN
from bridge.fhir.times import to_datetime
from bridge.visit import Term
from bridge.visit.ear import EarRecord, Impression

VERIFICATION = {
    "present": "confirmed",
    "past": "confirmed",
    "suspected": "provisional",
    "absent": "refuted",
    None: "unconfirmed",
}
"""None: words that nobody could read."""


def build_conditions(context: Context) -> None:
    for ear in EARS:
        record = context.visit.ear(ear)
        for index, impression in enumerate(record.impressions if record else ()):
            assert record is not None
            if says_none(impression.term):
                since = when_component("symptom-onset", impression.onset)
                observe(
                    context, "no-impression", (index,), coded(impression.term), since, ear=ear, note=impression.note
                )
            else:
                _condition(context, impression, record, ear, index)


def _condition(context: Context, impression: Impression, record: EarRecord, ear: Ear, index: int) -> Built:
    visit = context.visit
    assertion = impression.term.assertion
    cleared = assertion == "present" and is_cleared(impression.term, record)
    clinical = "resolved" if cleared else "inactive" if assertion in ("past", "absent") else "active"
    over = {"abatementDateTime": to_datetime(visit.end or visit.start)} if cleared else {}
    evidence = _evidence(context, impression.term, ear)
    stated = VERIFICATION[assertion] == "confirmed"
    return context.make(
        "impression" if stated else "impression-unconfirmed",
        "Condition",
        (ear, "impression", index),
        {
            "identifier": context.fact_identifier(ear, "impression", index),
            "clinicalStatus": one(f"condition-clinical:{clinical}"),
            "verificationStatus": one(f"condition-ver-status:{VERIFICATION[assertion]}"),
            "category": [
                one(f"condition-category:{'problem-list-item' if impression.standing else 'encounter-diagnosis'}")
            ],
            "code": concept(impression.term),
            "bodySite": [ear_site(ear)],
            "subject": context.patient,
            "encounter": context.encounter,
            **({"onsetDateTime": to_datetime(impression.onset)} if impression.onset else {}),
            **over,
            **({"recordedDate": to_datetime(visit.recorded_at)} if visit.recorded_at else {}),
            **({"recorder": context.practitioners[0]} if context.practitioners else {}),
            **({"evidence": [{"detail": evidence}]} if evidence else {}),
            **({"note": [{"text": impression.note}]} if impression.note else {}),
        },
        ear=ear,
    )


class _Clearance(NamedTuple):
    """A row of mappings/clearance.csv."""

    cleared_by: str
    kind: str


@cache
def _clearances() -> dict[tuple[str, str], _Clearance]:
    found = {}
    for row in load_csv(table_path("clearance.csv")):
        system, _, code = row["code"].partition(":")
        key = (OWN, code) if system == "own" else (verified()[row["code"]]["system"], code)
        found[key] = _Clearance(row["cleared_by"], row["kind"])
    return found


def is_cleared(term: Term, record: EarRecord) -> bool:
    """Whether the work on this ear ended as the table says makes this impression over: for wax the last of it, for
    what had got into the ear all of it, because the last may have been for something else.

    An outcome in words that no table knows ends nothing, and neither does one that what was seen after contradicts.
    """
    found = next((row for c in term.codings if (row := _clearances().get((c.system, c.code)))), None)
    if found is None or not record.work:
        return False
    still, counted = (_wax_left, record.work[-1:]) if found.kind == "wax" else (_thing_left, record.work)
    outcomes = {own_code(concept(work.outcome)) if work.outcome else None for work in counted}
    return outcomes == {found.cleared_by} and not still(record)


def is_reason_for_removal(condition: Json) -> bool:
    """Whether a Condition of ours is stated as present and is one that removal can end."""
    codes = {(c["system"], c["code"]) for c in condition["code"].get("coding", ())}
    stated = any(c["code"] == "confirmed" for c in condition["verificationStatus"]["coding"])
    now = not any(c["code"] == "inactive" for c in condition["clinicalStatus"]["coding"])
    return stated and now and bool(codes & set(_clearances()))


def _thing_left(record: EarRecord) -> bool:
    """Whether after the work something got into the ear was seen, or words that may say so, or nothing could be."""
    look = record.after
    if look is None:
        return False
    parts = [part for part in (look.contents, look.canal, look.drum) if part]
    unseen = look.view is not None and look.view.achieved in (None, "none")
    if unseen or any(part and part.answer in ("not seen", "not examined") for part in (look.contents, look.canal)):
        return True
    seen = [f.term for part in parts for f in part.findings if f.term.assertion not in ("absent", "past")]
    return any(not t.codings or any((c.system, c.code) in _clearances() for c in t.codings) for t in seen)


def _wax_left(record: EarRecord) -> bool:
    """Whether wax was seen after the work: any percentage, or an amount other than none."""
    wax = record.after.wax if record.after else None
    if wax is None:
        return False
    amount = own_code(concept(wax.amount)) if wax.amount else "wax-none"
    return bool(wax.percent) or amount != "wax-none" or wax.answer is not None


def _evidence(context: Context, term: Term, ear: Ear) -> list[Json]:
    """Observations of the same ear that say the same: they share a meaning, and are as sure as the impression.

    A suspected finding has no verified code of its own, so what its own code stands for counts too.
    """
    codes = _meant({(c.system, c.code) for c in term.codings})
    said = None if term.assertion == "present" else term.assertion
    return [
        reference(built.id)
        for built in context.built
        if built.resource["resourceType"] == "Observation"
        and built.ear == ear
        and word("assertion", built.resource.get("valueCodeableConcept")) == said
        and _meant(_codes(built.resource)) & codes
    ]


def _codes(observation: Json) -> set[tuple[str, str]]:
    concepts = [observation.get("valueCodeableConcept", {})]
    concepts += [
        component.get("valueCodeableConcept", {})
        for component in observation.get("component", ())
        if own_code(component["code"]) == "finding-in-question"
    ]
    return {(c["system"], c["code"]) for concept in concepts for c in concept.get("coding", ())}


def _meant(codes: set[tuple[str, str]]) -> set[tuple[str, str]]:
    return codes.union(*(meanings().get(code, ()) for system, code in codes if system == OWN))
