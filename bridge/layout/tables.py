"""Small tables that reading needs: units, and words that cells hold whatever the column."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from bridge.data import load_csv, table_path


def fold(text: str) -> str:
    """Words as they are compared: small letters, single blanks."""
    return " ".join(text.casefold().split())


@cache
def cell_words() -> dict[str, frozenset[str]]:
    """Words by kind: yes, no, total, title, and the months by their number."""
    return {row["kind"]: frozenset(row["words"].split("|")) for row in load_csv(table_path("cell-words.csv"))}


@cache
def _units(kind: str) -> dict[str, str]:
    rows = [row for row in load_csv(table_path("units.csv")) if row["kind"] == kind]
    exact = {word: row["unit"] for row in rows for word in row["words"].split("|")}
    folded: dict[str, set[str]] = {}
    for word, unit in exact.items():
        folded.setdefault(word.casefold(), set()).add(unit)
    return {**{word: next(iter(units)) for word, units in folded.items() if len(units) == 1}, **exact}


def unit_of(words: str, kind: str = "measure") -> str | None:
    """UCUM code of a unit's spelling, or the label of a size's scale (kind `size`)."""
    table = _units(kind)
    words = " ".join(words.split())
    return table.get(words) or table.get(words.casefold())


@dataclass(frozen=True, slots=True)
class FieldUnits:
    """Units a field takes, and how each becomes the one it is kept in."""

    units: tuple[str, ...]
    into: str
    factors: tuple[Decimal, ...]


@cache
def field_units(pattern: str) -> FieldUnits | None:
    """Units of the field whose index-free path ends so."""
    for row in load_csv(table_path("field-units.csv")):
        if pattern.endswith(row["field"]):
            factors = tuple(Decimal(f) for f in row["factors"].split())
            return FieldUnits(tuple(row["units"].split()), row["into"], factors)
    return None
