"""Condition: the practitioner's impression, as certain as they are, and standing disorders."""

from __future__ import annotations

from functools import cache

from bridge.build.context import Built, Context, Json, one
from bridge.build.observation import coded, observe, when_component
from bridge.data import load_csv, table_path
from bridge.fhir.elements import concept, ear_site
from bridge.fhir.ids import reference
from bridge.fhir.nothing import says_none
from bridge.fhir.own import meanings, own_code, verified, word
from bridge.fhir.systems import OWN
from bridge.fhir.times import to_datetime
from bridge.visit import EARS, Ear, Term
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
    return context.make(
        "impression",
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


@cache
def _cleared_by() -> dict[tuple[str, str], str]:
    found = {}
    for row in load_csv(table_path("clearance.csv")):
        code = verified()[row["code"]]
        found[code["system"], code["code"]] = row["cleared_by"]
    return found


def is_cleared(term: Term, record: EarRecord) -> bool:
    """Whether the last work on this ear ended as the table says makes this impression over.

    An outcome in words that no table knows ends nothing, and neither does one that what was seen after contradicts.
    """
    if not record.work or not record.work[-1].outcome or _still_there(record):
        return False
    outcome = own_code(concept(record.work[-1].outcome))
    wanted = {_cleared_by().get((c.system, c.code)) for c in term.codings} - {None}
    return outcome is not None and outcome in wanted


def is_reason_for_removal(condition: Json) -> bool:
    """Whether a Condition of ours is stated as present and is one that removal can end."""
    codes = {(c["system"], c["code"]) for c in condition["code"].get("coding", ())}
    stated = any(c["code"] == "confirmed" for c in condition["verificationStatus"]["coding"])
    now = not any(c["code"] == "inactive" for c in condition["clinicalStatus"]["coding"])
    return stated and now and bool(codes & set(_cleared_by()))


def _still_there(record: EarRecord) -> bool:
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
