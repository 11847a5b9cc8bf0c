"""Since when a symptom is there and how fast it came on: columns of a row whose symptoms stand in one cell."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from bridge.layout.fields import Field, Step
from bridge.phrases import parse_phrase, partly_denied, qualifier
from bridge.phrases.vocabulary import stands_for
from bridge.read.fault import Fault, cut

if TYPE_CHECKING:
    from bridge.read.record import Record, Spot

_LIST: Step = ("symptoms", 0)
_NONE = "symptom-none"


@dataclass(frozen=True, slots=True)
class Waiting:
    """What a column says of a symptom, before anybody knows which it is."""

    ear: str
    inner: tuple[Step, ...]
    value: Any
    spot: Spot
    told: str
    """Heading and words of the cell, for the note."""


def waits(field: Field) -> bool:
    """Whether a field says something of the first symptom of an ear, and not what it is."""
    return len(field.steps) > 1 and field.steps[0] == _LIST and field.steps[1][0] not in ("term", "note")


def put_waiting(record: Record, waiting: list[Waiting]) -> None:
    """Puts each to the first symptom that is not denied, or into the ear's note where there is none."""
    told: set[tuple[str, str]] = set()
    for one in waiting:
        symptoms = record.data.get(one.ear, {}).get("symptoms", [])
        said = [_said(symptom.get("term")) for symptom in symptoms]
        meant = [at for at, how in enumerate(said) if how == "there"] or [at for at, how in enumerate(said) if how]
        path = f"{one.ear}.symptoms"
        if not meant:
            message = "No symptom was read that this could be about; it is kept as a note."
            record.fault(Fault("R166", message, "onset"), path, one.spot, missing=False)
            record.note(((one.ear, None),), one.told, one.spot)
            continue
        if len(meant) > 1 and (one.ear, "R165") not in told:
            told.add((one.ear, "R165"))
            words = _text(symptoms[meant[0]]["term"])
            message = f"This could be about {len(meant)} symptoms; it goes with the first, “{cut(words)}”."
            record.fault(Fault("R165", message, "onset"), path, one.spot, missing=False)
        record.put(((one.ear, None), ("symptoms", meant[0]), *one.inner), one.value, one.spot)


def _said(term: Any) -> Literal["", "there", "past"]:
    """Whether the words name a symptom that is there, or may be, or was; empty where they deny it, or name none."""
    words = _text(term)
    if concept := stands_for("symptom", words):
        return "there" if concept != _NONE else ""
    phrase = parse_phrase(words, "symptom")
    said = phrase.assertion if phrase else qualifier(words, "symptom")
    if not words or said == "absent" or partly_denied(words, "symptom"):
        return ""
    return "past" if said == "past" else "there"


def _text(term: Any) -> str:
    return str(term.get("text", "") if isinstance(term, dict) else term or "")
