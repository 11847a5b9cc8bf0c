"""Procedure: what was done, one per ear and method, with its settings, tolerance and events beside it."""

from __future__ import annotations

from functools import cache

from bridge.build.condition import is_reason_for_removal
from bridge.build.context import Built, Context, Json
from bridge.build.observation import (
    assertion_value,
    coded,
    component,
    fixed_component,
    observe,
)
from bridge.data import load_csv, table_path
from bridge.ear_words import EARS, Ear
from bridge.fhir.elements import concept, ear_site
from bridge.fhir.ids import reference
from bridge.fhir.own import own_code
from bridge.fhir.times import to_datetime
from bridge.nothing_words import says_nothing
from bridge.visit import Work


@cache
def _statuses() -> dict[str, str]:
    return {row["concept"]: row["status"] for row in load_csv(table_path("procedure-status.csv"))}


def procedure_status(work: Work) -> str:
    """event-status by the outcome's own concept, or by a method that says that nothing was done; `unknown` where the
    record has no outcome that we know."""
    if work.outcome is None and says_nothing("method", work.method.text):
        return "not-done"
    code = own_code(concept(work.outcome)) if work.outcome else None
    return _statuses().get(code or "", "unknown")


def build_procedures(context: Context) -> None:
    for ear in EARS:
        record = context.visit.ear(ear)
        for index, work in enumerate(record.work if record else ()):
            _procedure(context, work, ear, index)


def procedure_id(context: Context, ear: Ear, index: int) -> str:
    return context.ids.of("Procedure", context.visit.number, ear, "work", index)


def _procedure(context: Context, work: Work, ear: Ear, index: int) -> Built:
    visit = context.visit
    status = procedure_status(work)
    performed: Json = {}
    if status != "not-done":
        performed = {
            "performedPeriod": {
                "start": to_datetime(visit.start),
                **({"end": to_datetime(visit.end)} if visit.end else {}),
            }
        }
    performers = [context.practitioner(work.practitioner)] if work.practitioner else context.practitioners
    happened = [concept(e.term) for e in work.events if e.term.assertion == "present"]
    reasons = _reasons(context, ear)
    built = context.make(
        "work",
        "Procedure",
        (ear, "work", index),
        {
            "identifier": context.fact_identifier(ear, "work", index),
            "status": status,
            **({"statusReason": concept(work.outcome_reason)} if work.outcome_reason else {}),
            "code": concept(work.method),
            "subject": context.patient,
            "encounter": context.encounter,
            **performed,
            **({"performer": [{"actor": p} for p in performers]} if performers else {}),
            **({"reasonCode": [{"text": work.why}]} if work.why else {}),
            **({"reasonReference": reasons} if reasons else {}),
            "bodySite": [ear_site(ear, "ear canal")],
            **({"outcome": concept(work.outcome)} if work.outcome else {}),
            **({"complication": happened} if happened else {}),
            **({"note": [{"text": work.note}]} if work.note else {}),
            **({"usedCode": [concept(i.name) for i in work.instruments]} if work.instruments else {}),
        },
        ear=ear,
    )
    _beside(context, work, ear, index, reference(built.id))
    return built


def _reasons(context: Context, ear: Ear) -> list[Json]:
    """What the work was for: impressions of this ear that such work can end, or else the wax seen before.

    What was suspected, denied, past, or found only when the wax was out, is no reason for taking it out.
    """
    conditions = [
        reference(b.id)
        for b in context.built
        if b.topic == "impression" and b.ear == ear and is_reason_for_removal(b.resource)
    ]
    wax = [reference(b.id) for b in context.built if b.topic == "wax-state" and b.ear == ear and b.stage == "before"]
    return conditions or wax


def _beside(context: Context, work: Work, ear: Ear, index: int, procedure: Json) -> None:
    for number, instrument in enumerate(work.instruments):
        details = [*component("instrument-size", instrument.size), *component("instrument-lot", instrument.lot)]
        observe(
            context, "instrument-used", (index, number), coded(instrument.name), details, ear=ear, part_of=procedure
        )
    settings = _settings(work)
    if settings:
        observe(context, "procedure-settings", (index,), {}, settings, ear=ear, part_of=procedure)
    if work.tolerance:
        observe(context, "tolerance", (index,), coded(work.tolerance), [], ear=ear, part_of=procedure)
    for what, score in (
        ("pain-before", work.pain_before),
        ("pain-peak", work.pain_peak),
        ("pain-after", work.pain_after),
    ):
        if score is not None:
            observe(context, what, (index,), {"valueInteger": score}, [], ear=ear, part_of=procedure)
    for number, event in enumerate(work.events):
        value, question = assertion_value(event.term)
        details = [*question, *fixed_component("severity", "severity", event.severity)]
        observe(
            context, "procedure-event", (index, number), value, details, ear=ear, note=event.done, part_of=procedure
        )


def _settings(work: Work) -> list[Json]:
    found: list[Json] = [*component("attempts", work.attempts), *component("duration", work.duration)]
    if suction := work.suction:
        found += component("suction-pressure", suction.pressure)
        found += fixed_component("suction-taken", "taken", suction.taken)
        found += component("suction-time", suction.time)
    if water := work.irrigation:
        found += component("water-temperature", water.temperature)
        found += component("water-pressure", water.pressure)
        found += component("water-volume", water.volume)
        found += component("irrigation-tip", water.tip)
    return found
