"""Turns what a layout says of one column into targets, or says what is wrong with it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fnmatch import fnmatchcase
from typing import Any, Literal

from bridge.layout.fields import Field, find_field, nearest_paths
from bridge.layout.model import Target
from bridge.layout.refused import refused
from bridge.layout.schema import Fault
from bridge.layout.tables import field_units, fold, unit_of

Words = Mapping[str, Mapping[str, str]]
"""Field patterns (several with commas between) to local words and what they mean."""

ANSWERS = ("normal", "not seen", "not examined")
MEANINGS = {
    "Part": ANSWERS, "Drum": ANSWERS, "Wax": ANSWERS[1:], "View": ("full", "partial", "none", *ANSWERS[1:]),
    "Examination": ("not examined",), "EarRecord": ("not examined",), "Allergies": ("none known", "not asked"),
    "Medicines": ("none", "not asked"), "FamilyDoctor": ("none", "unknown", "abroad"), "Request": ("nothing asked",),
}  # fmt: skip
"""What words may stand for in fields whose content is words of the practitioner, by model."""


def meanings(field: Field) -> tuple[str, ...] | None:
    """What a local word of this field may stand for; None: any words; empty: nothing."""
    if field.kind == "choice":
        return field.choices
    if field.kind == "yes-no":
        return ("yes", "no")
    if field.kind == "side":
        return ("right", "left", "both")
    if field.kind == "model" and field.model is not None:
        return MEANINGS.get(field.model.__name__, None if field.model.__name__ == "Practitioner" else ())
    return None if field.kind in ("words", "whole", "percent") else ()


def applies(pattern: str, field: Field) -> bool:
    return any(fnmatchcase(field.pattern, one.strip()) for one in pattern.split(","))


def make_target(
    said: str | dict[str, Any], at: str, rows: Literal["visit", "ear"], words: Words, problems: list[tuple[str, Fault]]
) -> Target | None:
    """The target; what is wrong is added to `problems` as rule and fault. None where the field is not known."""
    spec: dict[str, Any] = {"to": said} if isinstance(said, str) else said
    place = at if isinstance(said, str) else f"{at}.to"
    field = find_field(spec["to"], rows)
    if field is None or not _fillable(field, spec):
        problems.append(("R203", Fault(place, _unknown(spec["to"], rows, field), f"path:{spec['to']}")))
        return None
    found = {fold(k): v for pattern, table in words.items() if applies(pattern, field) for k, v in table.items()}
    found |= {fold(k): v for k, v in spec.get("words", {}).items()}
    problems.extend(("R206", f) for f in _wrong_meanings(field, spec.get("words", {}), f"{at}.words"))
    problems.extend(("R204", f) for f in _wrong_settings(field, spec, at))
    blank = spec.get("blank", "")
    if blank and (why := refused(field, blank)):
        problems.append(("R205", Fault(f"{at}.blank", f"An empty cell means “not recorded”: {why}.", "blank")))
    unit = "fraction" if _fraction(field, spec) else unit_of(spec.get("unit", "")) or ""
    separator = {"newline": "\n", "tab": "\t"}.get(spec.get("list", ""), spec.get("list", ""))
    return Target(field, found, blank, separator, unit, spec.get("scale", ""), spec.get("name", ""))


def _fraction(field: Field, spec: dict[str, Any]) -> bool:
    """Whether the cells of a column of percent hold 0.8 for 80 percent."""
    return field.kind == "percent" and fold(spec.get("unit", "")) == "fraction"


def _fillable(field: Field, spec: dict[str, Any]) -> bool:
    return field.takes_words or "name" in spec


def _unknown(path: str, rows: Literal["visit", "ear"], field: Field | None) -> str:
    if field is not None:
        return f"“{path[:60]}” is a group of fields; name one of them."
    if rows == "visit" and path.strip() == "ear":
        return "“ear” is for layouts with one row per ear (rows: ear)."
    near = nearest_paths(path, rows)
    return f"There is no field “{path[:60]}” in a visit." + (f" Near it: {', '.join(near)}." if near else "")


def _wrong_meanings(field: Field, words: Mapping[str, str], at: str) -> Iterator[Fault]:
    allowed = meanings(field)
    for word, value in words.items():
        if allowed is None or fold(value).partition(" (")[0] in allowed or value in allowed:
            continue
        told = (
            f"“{value[:60]}” is not among the words of {field.pattern}: {', '.join(allowed)}."
            if allowed
            else f"The words of {field.pattern} stay as they are written; synonyms belong in your own term map."
        )
        yield Fault(f"{at}.{word}", told, f"words:{field.pattern}:{value}")


def _wrong_settings(field: Field, spec: dict[str, Any], at: str) -> Iterator[Fault]:
    listed = field.many or (field.model is not None and field.model.__name__ in LISTED)
    if "list" in spec and not listed:
        yield Fault(f"{at}.list", f"{field.pattern} holds one thing, not a list.", "list")
    if "scale" in spec and field.kind != "size":
        yield Fault(f"{at}.scale", f"{field.pattern} is not the size of an instrument.", "scale")
    if "name" in spec and (field.model is None or field.model.__name__ != "Name"):
        yield Fault(f"{at}.name", f"{field.pattern} is not a whole name; use client.legal_name.", "name")
    if "unit" in spec:
        units = field_units(field.pattern) if field.kind == "measure" else None
        unit = unit_of(spec["unit"])
        if _fraction(field, spec) or (field.kind == "percent" and unit == "%"):
            return
        if units is None:
            yield Fault(f"{at}.unit", f"{field.pattern} takes no unit.", "unit")
        elif unit not in units.units:
            told = f"“{spec['unit'][:60]}” is not a unit of it; it takes {', '.join(units.units)}."
            yield Fault(f"{at}.unit", told, "unit")


LISTED = frozenset({"Part", "Drum", "Allergies", "Medicines"})
"""Models that are a list of things in themselves."""
