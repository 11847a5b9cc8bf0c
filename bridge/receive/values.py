"""Values of Observations and components as the visit's own shapes: the mirror of build/observation.py."""

from __future__ import annotations

from typing import Any, TypeVar, cast

from bridge.fhir.elements import measure, size, term
from bridge.fhir.own import word
from bridge.fhir.tell.observation import parts
from bridge.fhir.times import from_datetime
from bridge.visit import Measure, Place, Size, Term
from bridge.visit.base import Model

Json = dict[str, Any]

Part = TypeVar("Part", bound=Model)


def part_of_visit(model: type[Part], fields: Json) -> Part:
    """What will be this part of the visit: its fields, which are looked at once, with the visit as a whole."""
    return cast(Part, fields)


_ANSWERS = {"not-performed": "not examined", "unknown": "not seen"}


def coded(observation: Json) -> Term | None:
    concept = observation.get("valueCodeableConcept")
    return term(concept) if concept else None


def answer(observation: Json) -> str | None:
    """Normal, not seen or not examined; None for another value."""
    if word("answer", observation.get("valueCodeableConcept")) == "normal":
        return "normal"
    codes = [c.get("code") for c in observation.get("dataAbsentReason", {}).get("coding", ())]
    return next((_ANSWERS[c] for c in codes if c in _ANSWERS), None)


def asserted(observation: Json) -> Term | None:
    """The statement's term with its assertion."""
    concept = observation.get("valueCodeableConcept")
    if not concept:
        return None
    assertion = word("assertion", concept)
    if assertion is None:
        return term(concept, "present")
    said = None if assertion == "unread" else assertion
    question = one(observation, "finding-in-question")
    return term(question["valueCodeableConcept"], said) if question else term(concept, said)


def one(observation: Json, kind: str) -> Json | None:
    return next(iter(parts(observation).get(kind, ())), None)


def term_in(observation: Json, kind: str) -> Term | None:
    found = one(observation, kind)
    return term(found["valueCodeableConcept"]) if found else None


def terms_in(observation: Json, kind: str) -> tuple[Term, ...]:
    found = (term(c["valueCodeableConcept"]) for c in parts(observation).get(kind, ()))
    return tuple(t for t in found if t)


def measure_in(observation: Json, kind: str) -> Measure | None:
    found = one(observation, kind)
    return measure(found["valueQuantity"]) if found else None


def size_in(observation: Json, kind: str) -> Size | None:
    found = one(observation, kind)
    return size(found["valueQuantity"]) if found else None


def percent_in(observation: Json, kind: str) -> int | None:
    found = one(observation, kind)
    return int(found["valueQuantity"]["value"]) if found else None


def integer_in(observation: Json, kind: str) -> int | None:
    found = one(observation, kind)
    return int(found["valueInteger"]) if found else None


def text_in(observation: Json, kind: str) -> str | None:
    found = one(observation, kind)
    return str(found["valueString"]) if found else None


def word_in(observation: Json, kind: str, group: str) -> str | None:
    found = one(observation, kind)
    return word(group, found["valueCodeableConcept"]) if found else None


def when_in(observation: Json, kind: str) -> str | None:
    found = one(observation, kind)
    return from_datetime(found["valueDateTime"]) if found else None


def place_in(observation: Json) -> Place | None:
    fields = kept(
        third=term_in(observation, "canal-third"),
        depth=measure_in(observation, "depth"),
        clock_from=integer_in(observation, "clock-from"),
        clock_to=integer_in(observation, "clock-to"),
        walls=terms_in(observation, "wall"),
        parts=terms_in(observation, "drum-part"),
    )
    return part_of_visit(Place, fields) if fields else None


def note_of(resource: Json) -> str | None:
    return "\n".join(n["text"] for n in resource.get("note", ()) if n.get("text")) or None


def kept(**fields: Any) -> dict[str, Any]:
    """The fields that have something, for a model that must not be made where nothing was recorded."""
    return {k: v for k, v in fields.items() if v is not None and v != ()}
