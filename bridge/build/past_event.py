"""What is known of an ear from before: Condition, or Procedure where the code is one. None of it is ever active.

Both carry a category of our own, by which readers tell them from today's impressions and today's work.
"""

from __future__ import annotations

from functools import cache

from bridge.build.context import Context, Json, one
from bridge.build.observation import coded, observe, when_component
from bridge.data import load_csv, table_path
from bridge.ear_words import EARS, Ear
from bridge.fhir.elements import concept, ear_site
from bridge.fhir.nothing import says_none
from bridge.fhir.own import fixed, verified
from bridge.fhir.systems import OWN
from bridge.fhir.times import to_datetime
from bridge.visit import Term
from bridge.visit.ear import PastEvent

VERIFICATION = {"present": "confirmed", "past": "confirmed", "suspected": "unconfirmed", "absent": "refuted"}
"""Words that nobody could read have none: the element is absent."""


def build_history(context: Context) -> None:
    for ear in EARS:
        record = context.visit.ear(ear)
        for index, event in enumerate(record.history if record else ()):
            if says_none(event.term):
                _observation(context, event, ear, index)
            elif event.term.assertion in ("present", "past") and is_procedure(event.term):
                _procedure(context, event, ear, index)
            else:
                _condition(context, event, ear, index)


def is_procedure(term: Term) -> bool:
    """Whether one of its codes names a procedure, or is our own concept of one."""
    return any((c.system, c.code) in _procedures() for c in term.codings)


@cache
def _procedures() -> frozenset[tuple[str, str]]:
    names: set[str] = set()
    for path in sorted(table_path("codes").glob("*.csv")):
        names |= {f"{r['system']}:{r['code']}" for r in load_csv(path) if r["tag"] == "procedure"}
    found = {(c["system"], c["code"]) for name, c in verified().items() if name in names}
    for path in sorted(table_path("terms").glob("*.csv")):
        for row in load_csv(path):
            if row.get("kind") == "past-event" and names & set(row.get("codes", "").split()):
                found.add((OWN, row["concept"]))
    return frozenset(found)


def _category(event: PastEvent) -> Json:
    return fixed("history", "past" if event.term.assertion == "past" else "present")


def _listed(category: Json) -> Json:
    """The same as a problem's category: profiles want a published code in each."""
    return {**category, "coding": [*one("condition-category:problem-list-item")["coding"], *category["coding"]]}


def _condition(context: Context, event: PastEvent, ear: Ear, index: int) -> None:
    verification = VERIFICATION.get(event.term.assertion or "")
    context.make(
        "past-event",
        "Condition",
        (ear, "history", index),
        {
            "identifier": context.fact_identifier(ear, "history", index),
            "clinicalStatus": one("condition-clinical:inactive"),
            **({"verificationStatus": one(f"condition-ver-status:{verification}")} if verification else {}),
            "category": [_listed(_category(event))],
            "code": concept(event.term),
            "bodySite": [ear_site(ear)],
            "subject": context.patient,
            "encounter": context.encounter,
            **({"onsetDateTime": to_datetime(event.date)} if event.date else {}),
            **({"abatementDateTime": to_datetime(event.ended)} if event.ended else {}),
            **_recorded(context, "recordedDate"),
            **({"note": [{"text": event.note}]} if event.note else {}),
        },
        ear=ear,
    )


def _procedure(context: Context, event: PastEvent, ear: Ear, index: int) -> None:
    performed: Json = {"performedDateTime": to_datetime(event.date)} if event.date else {}
    if event.ended:
        start = {"start": to_datetime(event.date)} if event.date else {}
        performed = {"performedPeriod": {**start, "end": to_datetime(event.ended)}}
    context.make(
        "past-event",
        "Procedure",
        (ear, "history", index),
        {
            "identifier": context.fact_identifier(ear, "history", index),
            "status": "completed",
            "category": _category(event),
            "code": concept(event.term),
            "subject": context.patient,
            **performed,
            **_recorded(context, ""),
            "bodySite": [ear_site(ear)],
            **({"note": [{"text": event.note}]} if event.note else {}),
        },
        ear=ear,
    )


def _recorded(context: Context, date: str) -> Json:
    when = context.visit.recorded_at
    return {
        **({date: to_datetime(when)} if date and when else {}),
        **({"recorder": context.practitioners[0]} if context.practitioners else {}),
    }


def _observation(context: Context, event: PastEvent, ear: Ear, index: int) -> None:
    """Where nothing is known."""
    details = [*when_component("symptom-onset", event.date), *when_component("event-ended", event.ended)]
    observe(context, "past-event", (index,), coded(event.term), details, ear=ear, note=event.note)
