"""How the cells of a column are to be read once its field is known: lists, units, scales, the order of a name."""

from __future__ import annotations

import re

from bridge.drafting.fits import has_unit, is_number
from bridge.drafting.shapes import ASK, Column, Guess, Terms
from bridge.drafting.tables import given_names, plain
from bridge.layout.fields import Field
from bridge.layout.tables import cell_words, field_units, fold, unit_of
from bridge.layout.targets import LISTED

_SIGNS = (";", "\n", "|", "+", ",", "/", " & ")
_MAIN = {"Part": ".findings.term", "Drum": ".findings.term", "Wax": ".amount", "Allergies": ".items.term",
         "Medicines": ".items.name"}  # fmt: skip
_OPEN_LISTS = ("client.phones", "client.emails", "client.address.lines")
FEW_WORDS = 4


def settle(guess: Guess, field: Field, unit: str, terms: Terms | None) -> None:
    """Fills in the settings that this field needs, from the heading's unit and the cells."""
    guess.settings = {k: v for k, v in guess.settings.items() if k == "optional"}
    guess.choices = {}
    column = guess.column
    if field.kind == "model" and field.model is not None and field.model.__name__ == "Name":
        _name(guess, column)
    if field.kind == "measure":
        _unit(guess, field, unit)
    if field.kind == "size":
        _scale(guess, unit)
    if field.kind == "percent":
        _percent(guess)
    listed = field.many or (field.model is not None and field.model.__name__ in LISTED)
    if listed and field.kind != "percent" and (sign := separator(column, field, terms)):
        guess.settings["list"] = {"\n": "newline"}.get(sign, sign)


def term_kind(field: Field, terms: Terms | None) -> str:
    """The kind of terms that the cells of a field hold; empty where it holds none."""
    if terms is None or field.kind not in ("term", "model"):
        return ""
    model = field.model
    name = model.__name__ if model is not None else ""
    inner = _MAIN.get(name, "")
    if not inner and model is not None and name != "Term":
        inner = next((f".{n}" for n in ("term", "name") if n in model.model_fields), "")
    kind = terms.kind_of(re.sub(r"^ear\.", "", field.pattern) + inner)
    return kind.name if kind is not None else ""


def separator(column: Column, field: Field, terms: Terms | None) -> str:
    """What stands between several things in one cell: where the parts are things that are known, or short."""
    kind = term_kind(field, terms)
    for sign in _SIGNS:
        cells = [c for c in column.cells if sign in c]
        if not cells or (sign != ";" and len(cells) * 20 < len(column.cells)):
            continue
        parts = [p.strip() for c in cells for p in c.split(sign) if p.strip()]
        if sign in (";", "\n", "|"):
            return sign.strip(" ")
        known = [p for p in parts if terms is not None and kind and terms.find(kind, p)]
        short = all(len(p.split()) <= FEW_WORDS for p in parts)
        if kind and known and len(known) * 2 >= len(parts) and short:
            return sign.strip(" ")
        if field.pattern in _OPEN_LISTS and sign == ",":
            return sign
    return ""


def _name(guess: Guess, column: Column) -> None:
    """`Smith, Ann` says it itself; `Ann Smith` and `Smith Ann` are told apart by given names that are known."""
    if column.share(lambda c: c.count(",") == 1) >= 0.9:
        guess.settings["name"] = "family, given"
        return
    first = last = capitals = 0
    for cell in column.cells:
        words = [w for w in cell.replace(",", " ").split() if fold(w).rstrip(".") not in cell_words()["title"]]
        if len(words) > 1:
            first += _given(words[0])
            last += _given(words[-1])
            capitals += words[-1].isupper() and len(words[-1]) > 1 and not words[0].isupper()
    if capitals * 2 > len(column.cells) or (first >= 2 and first >= 3 * last):
        guess.settings["name"] = "given family"
        return
    guess.settings["name"] = ASK
    guess.choices["name"] = ["given family", "family, given"]


def _given(word: str) -> bool:
    return plain(word).strip(".-").partition("-")[0] in given_names()


def _unit(guess: Guess, field: Field, unit: str) -> None:
    units = field_units(field.pattern)
    allowed = list(units.units) if units else []
    bare = guess.column.share(is_number)
    if unit and unit_of(unit) in allowed:
        guess.settings["unit"] = unit
    elif bare and allowed:
        guess.settings["unit"] = ASK
        guess.choices["unit"] = [u.replace("mm[Hg]", "mmHg").replace("[H2O]", "H2O") for u in allowed]


def _scale(guess: Guess, unit: str) -> None:
    label = unit_of(unit, "size") if unit else None
    if label:
        guess.settings["scale"] = label
    elif guess.column.share(lambda c: is_number(c) and not has_unit(c, "size")):
        guess.settings["scale"] = ASK
        guess.choices["scale"] = ["mm", "Fr", "G"]


def _percent(guess: Guess) -> None:
    """Shares of 1 are told by a number between 0 and 1 where none is above."""
    numbers = [_value(c) for c in guess.column.cells if is_number(c)]
    between = [n for n in numbers if 0 < n < 1]
    if between and max(numbers) <= 1:
        guess.settings["unit"] = "fraction"
    elif between or (numbers and max(numbers) == 1):
        guess.settings["unit"] = ASK
        guess.choices["unit"] = ["%", "fraction"]


def _value(text: str) -> float:
    return float(text.replace(",", ".").replace("−", "-").replace("+", ""))
