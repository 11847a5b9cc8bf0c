"""Codes and the value sets that a profile binds them to: required and extensible.

Source: https://hl7.org/fhir/R4/terminologies.html#strength and #4.1.5 (what is bound in each data type).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from bridge.check.look import parts
from bridge.check.profiles.fitting import fits
from bridge.check.profiles.part import Item, Part
from bridge.check.profiles.words import named
from bridge.issues import Issue, Where
from bridge.shapes import Json
from bridge.terminology.answers import Answer
from bridge.terminology.answers import named as shortened
from bridge.terminology.tell import remarks

if TYPE_CHECKING:
    from bridge.check.profiles.run import Run

QUANTITIES = ("Age", "Count", "Distance", "Duration", "Money")
SIMPLE = ("code", "string", "uri", "url", "canonical")
Bound = tuple[str | None, str, str | None]
"""A code to look up: system (None for a plain code), code, display."""


def check_bindings(run: Run, part: Part, item: Item, out: list[Issue]) -> None:
    """Tells codes outside of the value set, and what could not be decided."""
    codes = bound(item)
    if codes is None:
        return
    for strength, value_set in part.binding:
        if not codes:
            if strength == "required":
                told = f"{named(part)} needs a code of {value_set[:120]}."
                run.tell(out, "P120", item[2], told, f"{value_set}:none")
            continue
        answers = [run.terminology.member(value_set, *code) for code in codes]
        verdicts = {answer.verdict for answer in answers}
        _noticed(codes, answers, item, out)
        if "in" in verdicts:
            continue
        if "unknown" in verdicts:
            reason = next(a.reason for a in answers if a.verdict == "unknown")
            reason = reason.replace(f"the value set {shortened(value_set)}", "that value set")
            told = f"It could not be decided whether the code is in {value_set[:120]}: {reason}."
            run.tell(out, "P122", item[2], told, value_set)
        elif strength != "extensible" or not any(fits(value_set, system, code) for system, code, _ in codes):
            rule = "P121" if strength == "extensible" else "P120"
            told = f"No code here is in {value_set[:120]}, to which {named(part)} is bound."
            run.tell(out, rule, item[2], told, value_set)


def _noticed(codes: list[Bound], answers: list[Answer], item: Item, out: list[Issue]) -> None:
    for (system, code, _), answer in zip(codes, answers, strict=True):
        if answer.inactive or answer.display_wrong:
            out.extend(remarks(answer, system or "", code, Where(path=item[2])))


def bound(item: Item) -> list[Bound] | None:
    """The codes in a value; None where it is of a type that cannot be bound, or has no value at all."""
    value, type = item[0], item[1]
    if isinstance(value, str):
        return [(None, value, None)] if type in SIMPLE else None
    if not isinstance(value, dict):
        return None
    if type == "Coding":
        return _coding(value)
    if type == "CodeableConcept":
        return [code for coding in parts(value, "coding") for code in _coding(coding)]
    return _coding(value) if type in ("Quantity", *QUANTITIES) or isinstance(value.get("code"), str) else None


def _coding(coding: Json) -> list[Bound]:
    code, system, display = coding.get("code"), coding.get("system"), coding.get("display")
    if not isinstance(code, str):
        return []
    return [(system if isinstance(system, str) else "", code, display if isinstance(display, str) else None)]


def in_set(run: Run, value_set: str, item: Item) -> bool | None:
    """Whether a code of the value is in the set; None where that cannot be decided."""
    answers: list[Answer] = [run.terminology.member(value_set, *code) for code in bound(item) or ()]
    verdicts: set[Any] = {answer.verdict for answer in answers}
    return True if "in" in verdicts else None if "unknown" in verdicts else False
