"""Observation: the one shape that every fact seen, measured or told is written in."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from bridge.build.context import Built, Context, Json, one
from bridge.ear_words import Ear, Stage
from bridge.fhir.elements import concept, ear_site, quantity, size_quantity
from bridge.fhir.own import fixed, kind, kinds
from bridge.fhir.tell.words import asserted
from bridge.fhir.times import to_datetime
from bridge.visit import Measure, Place, Size, Term

ABSENT = {
    "not seen": "data-absent-reason:unknown",
    "not examined": "data-absent-reason:not-performed",
}


def observe(
    context: Context,
    what: str,
    parts: Sequence[object],
    value: Json,
    components: list[Json],
    *,
    ear: Ear | None = None,
    stage: Stage | None = None,
    site: str = "ear",
    note: str | None = None,
    part_of: Json | None = None,
) -> Built:
    """One Observation of kind `what`; `value` is its value[x] or dataAbsentReason as a one-member dict."""
    place = [str(p) for p in (ear, stage, what, *parts) if p is not None]
    if stage:
        components = [_fixed_component("exam-stage", "stage", stage), *components]
    label = kinds()[what]["label"]
    where = f", {ear} ear" if ear else ""
    when = f", {stage} the work" if stage else ""
    body = {
        "identifier": context.fact_identifier(*place),
        **({"partOf": [part_of]} if part_of else {}),
        "status": "final",
        "category": [one(f"observation-category:{kinds()[what]['category']}")],
        "code": kind(what, f"{label}{where}{when}"),
        "subject": context.patient,
        "encounter": context.encounter,
        "effectiveDateTime": to_datetime(_moment(context, what, stage)),
        **({"performer": context.practitioners} if context.practitioners else {}),
        **value,
        **({"note": [{"text": note}]} if note else {}),
        **({"bodySite": ear_site(ear, site)} if ear else {}),
        **({"component": components} if components else {}),
    }
    return context.make(what, "Observation", place, body, ear=ear, stage=stage)


AT_THE_END = ("hearing-change", "pain-after")


def _moment(context: Context, what: str, stage: Stage | None) -> str:
    """What was seen or told after the work is dated by the visit's end where that is known."""
    after = stage == "after" or what in AT_THE_END
    return (context.visit.end if after else None) or context.visit.start


def coded(term: Term | None) -> Json:
    return {"valueCodeableConcept": concept(term)} if term else {}


def answer_value(answer: str | None) -> Json:
    """Value or dataAbsentReason of a state: normal, not seen, not examined."""
    if answer is None:
        return {}
    if answer == "normal":
        return {"valueCodeableConcept": fixed("answer", "normal")}
    return {"dataAbsentReason": one(ABSENT[answer])}


def assertion_value(term: Term) -> tuple[Json, list[Json]]:
    """Value and components of a statement: only what is stated as present is itself the value.

    Words that nobody could read (“TM not intact”) are told as such, lest they pass for a finding. The value's text is
    the whole statement, for readers that show nothing else; the bare words stand in the component.
    """
    if term.assertion == "present":
        return coded(term), []
    said = term.assertion or "unread"
    question = component("finding-in-question", term)
    told = asserted(said, question[0]["valueCodeableConcept"])
    return {"valueCodeableConcept": fixed("assertion", said, told)}, question


def component(what: str, value: Term | Measure | Size | int | str | None) -> list[Json]:
    """A component, or nothing where the value was not recorded."""
    if value is None:
        return []
    return [{"code": kind(what), **_component_value(value)}]


def components(what: str, values: Sequence[Term]) -> list[Json]:
    return [c for value in values for c in component(what, value)]


def fixed_component(what: str, group: str, word: str | None) -> list[Json]:
    return [_fixed_component(what, group, word)] if word else []


def when_component(what: str, when: str | None) -> list[Json]:
    return [{"code": kind(what), "valueDateTime": to_datetime(when)}] if when else []


def percent_component(what: str, percent: int | None) -> list[Json]:
    if percent is None:
        return []
    from decimal import Decimal

    return [{"code": kind(what), "valueQuantity": quantity(Measure(value=Decimal(percent), unit="%"))}]


def place_components(place: Place | None) -> list[Json]:
    if place is None:
        return []
    return [
        *component("canal-third", place.third),
        *component("depth", place.depth),
        *component("clock-from", place.clock_from),
        *component("clock-to", place.clock_to),
        *components("wall", place.walls),
        *components("drum-part", place.parts),
    ]


def _fixed_component(what: str, group: str, word: str) -> Json:
    return {"code": kind(what), "valueCodeableConcept": fixed(group, word)}


def _component_value(value: Any) -> Json:
    if isinstance(value, Term):
        return {"valueCodeableConcept": concept(value)}
    if isinstance(value, Measure):
        return {"valueQuantity": quantity(value)}
    if isinstance(value, Size):
        return {"valueQuantity": size_quantity(value)}
    if isinstance(value, int):
        return {"valueInteger": value}
    return {"valueString": value}
