"""One cell, one typed value, or why not: numbers, measures, sizes, choices, yes and no, names."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from decimal import Decimal
from typing import Any

from bridge.layout.tables import cell_words, field_units, fold, unit_of
from bridge.read.fault import CellError, cut

_NUMBER = r"[-+−]?\d{1,9}(?:[.,]\d{1,9})?"
_MEASURE = re.compile(rf"({_NUMBER})\s*(\D.*)?")


def parse_number(text: str) -> Decimal:
    """A number with a decimal point or comma. Raises CellError; "1,500" could be two numbers and is refused."""
    bare = text.strip()
    if not re.fullmatch(_NUMBER, bare):
        raise CellError("R108", f"“{cut(text)}” is not one number.", text)
    if re.fullmatch(r"[-+−]?\d{1,3},\d{3}", bare):
        raise CellError("R108", f"“{cut(text)}” could be read with a decimal comma or as thousands.", text)
    return Decimal(bare.replace(",", ".").replace("−", "-"))


OUT_OF_TEN = frozenset(("pain_before", "pain_peak", "pain_after"))
"""Fields whose numbers are on a scale from 0 to 10, so that `3/10` is 3 there."""


def out_of_ten(text: str) -> str:
    """The number before its own `/10`; anything else as it is."""
    found = re.fullmatch(r"\s*(\d{1,2})\s*/\s*10\s*", text)
    return found[1] if found else text


def parse_whole(text: str) -> int:
    """A whole number. Raises CellError."""
    value = parse_number(text)
    if value != value.to_integral_value():
        raise CellError("R108", f"“{cut(text)}” is not a whole number.", text)
    return int(value)


def parse_percent(text: str, unit: str = "") -> int:
    """A percentage, with or without its sign. A bare 0.75 is likely a fraction and refused, unless the layout says
    `unit: fraction`. Raises CellError."""
    bare = text.strip()
    signed = next((bare[: -len(w)].rstrip() for w in ("%", "percent", "per cent") if bare.lower().endswith(w)), None)
    value = parse_number(signed if signed is not None else bare)
    if unit == "fraction" and signed is None:
        if not 0 <= value <= 1:
            raise CellError("R110", f"“{cut(text)}” is not between 0 and 1, in a column of fractions.", text)
        value *= 100
    elif signed is None and 0 < value < 1:
        raise CellError("R110", f"“{cut(text)}” in a column of percent is likely a fraction.", text)
    if value != value.to_integral_value():
        raise CellError("R108", f"“{cut(text)}” is not a whole percentage.", text)
    return int(value)


def parse_measure(text: str, pattern: str, unit: str) -> dict[str, Any]:
    """A number with its unit, from the cell or else from the column, in the field's own unit. Raises CellError."""
    found = _MEASURE.fullmatch(text.strip())
    if not found:
        raise CellError("R108", f"“{cut(text)}” is not one number with its unit.", text)
    value = parse_number(found[1])
    said = (found[2] or "").strip()
    ucum = unit_of(said) if said else unit
    if not ucum:
        told = f"The unit “{cut(said)}” is not known." if said else "The number has no unit."
        raise CellError("R111" if said else "R109", told, said or pattern)
    allowed = field_units(pattern)
    if allowed is None:
        return {"value": value, "unit": ucum}
    if ucum not in allowed.units:
        told = f"“{cut(said or ucum)}” is not a unit of this field; it takes {', '.join(allowed.units)}."
        raise CellError("R111", told, f"{pattern}:{ucum}")
    if allowed.into:
        value = value * allowed.factors[allowed.units.index(ucum)]
        value = value.quantize(Decimal(1)) if value == value.to_integral_value() else value.normalize()
        return {"value": value, "unit": allowed.into}
    return {"value": value, "unit": ucum}


def parse_size(text: str, scale: str) -> dict[str, Any]:
    """A size with its scale's label: 18G, 5 Fr, 2.0 mm. A bare number is no size. Raises CellError."""
    bare = text.strip()
    found = re.fullmatch(r"(Fr|FG|Ch|G)\.?\s*(\d.*)", bare, re.IGNORECASE)
    number, said = (found[2], found[1]) if found else ("", "")
    if not found and (match := _MEASURE.fullmatch(bare)):
        number, said = match[1], (match[2] or "").strip()
    if not number:
        raise CellError("R108", f"“{cut(text)}” is not one size.", text)
    label = unit_of(said, "size") if said else scale
    if not label:
        told = "The number has no scale" if not said else f"“{cut(said)}” is not a scale"
        raise CellError("R112", f"{told}; write mm, Fr or G with the number.", said or "scale")
    return {"value": parse_number(number), "scale": label}


def parse_choice(text: str, choices: Collection[str], *, quote: bool) -> str:
    """One of the words that a field knows, capitals aside. Raises CellError."""
    folded = fold(text)
    for choice in choices:
        if fold(choice) == folded:
            return choice
    shown = f"“{cut(text)}”" if quote else "This"
    raise CellError("R101", f"{shown} is not one of: {', '.join(choices)}.", folded if quote else "choice")


def parse_yes_no(text: str, yes: Collection[str], no: Collection[str]) -> bool:
    """Raises CellError for anything but a word for yes or no."""
    folded = fold(text)
    if folded in yes:
        return True
    if folded in no:
        return False
    raise CellError("R101", f"“{cut(text)}” is neither yes nor no.", folded)


def parse_name(text: str, order: str) -> dict[str, Any]:
    """A whole name, split as the layout says. Raises CellError where the parts cannot be told apart."""
    words = text.replace(",", " , ").split()
    title: Mapping[str, str] = {}
    at = words.index(",") + 1 if "," in words and order == "family, given" else 0
    if at < len(words) and fold(words[at]).rstrip(".") in cell_words()["title"] and len(words) > 2:
        title = {"prefix": words.pop(at)}
    if order == "family, given":
        family, comma, given = " ".join(words).partition(" , ")
        if not comma or not family or not given or " , " in given:
            raise CellError("R108", "The name is not written as family name, comma, given names.", "name")
        return {"family": family, "given": given.split(), **title}
    if len(words) < 2 or "," in words:
        raise CellError("R108", "The name is not written as given names and then the family name.", "name")
    if any(w[:1].islower() for w in words[1:-1]):
        raise CellError("R108", "Where the family name begins is not clear from the cell.", "name")
    return {"family": words[-1], "given": words[:-1], **title}
