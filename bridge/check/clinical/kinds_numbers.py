"""The kinds `number`, `more` and `count`: numbers with units held against limits and each other."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from typing import Any

from bridge.check.clinical.answers import Answer, any_of
from bridge.check.clinical.context import Context
from bridge.check.clinical.fields import values
from bridge.data import load_csv, table_path
from bridge.visit import Measure, Size

_FRENCH = Decimal(3)
"""Outer diameter in mm is Fr / 3."""


@cache
def sizes() -> dict[str, tuple[str, Decimal]]:
    """What a unit measures, and its size; from `mappings/standard/ucum-sizes.csv`."""
    rows = load_csv(table_path("standard", "ucum-sizes.csv"))
    return {row["code"]: (row["measures"], Decimal(row["size"])) for row in rows}


def in_unit(value: Any, unit: str) -> Decimal | None:
    """A number, Measure or Size in a unit; None where it cannot be converted. A gauge never can."""
    if isinstance(value, Measure):
        return converted(value.value, value.unit, unit)
    if isinstance(value, Size):
        if value.scale == "G" or not unit:
            return None
        return converted(value.value if value.scale == "mm" else value.value / _FRENCH, "mm", unit)
    return Decimal(value) if isinstance(value, int | Decimal) and not isinstance(value, bool) else None


def converted(number: Decimal, unit: str, to: str) -> Decimal | None:
    """The number in another unit of the same kind."""
    if unit == to or not to:
        return number
    (kind, size), (other, other_size) = (sizes().get(code, ("", Decimal(1))) for code in (unit, to))
    return number * size / other_size if kind and kind == other else None


@dataclass(frozen=True, slots=True)
class Number:
    """Limits that all must hold; `multiple_of` and `whole` likewise."""

    field: str
    unit: str = ""
    above: Decimal | None = None
    below: Decimal | None = None
    at_least: Decimal | None = None
    at_most: Decimal | None = None
    multiple_of: Decimal | None = None
    whole: bool = False

    def answer(self, context: Context) -> Answer:
        """Not known where no number is recorded, or only ones that cannot be converted."""
        found = values(self.field, context)
        return any_of(self._holds(value) for value in found) if found else None

    def told(self, context: Context) -> str:
        """The first number for which it holds, as it is recorded."""
        return next((shown(v) for v in values(self.field, context) if self._holds(v)), "")

    def _holds(self, value: Any) -> Answer:
        number = in_unit(value, self.unit)
        if number is None:
            return None
        return (
            (self.above is None or number > self.above)
            and (self.below is None or number < self.below)
            and (self.at_least is None or number >= self.at_least)
            and (self.at_most is None or number <= self.at_most)
            and (self.multiple_of is None or number % self.multiple_of == 0)
            and (not self.whole or number == number.to_integral_value())
        )


@dataclass(frozen=True, slots=True)
class More:
    """Whether a number of the first field is larger than one of the second."""

    one: str
    other: str

    def answer(self, context: Context) -> Answer:
        pairs = [(a, b) for a in values(self.one, context) for b in values(self.other, context)]
        return any_of(_larger(a, b) for a, b in pairs) if pairs else None


def _larger(one: Any, other: Any) -> Answer:
    unit = one.unit if isinstance(one, Measure) else "mm" if isinstance(one, Size) else ""
    first, second = in_unit(one, unit), in_unit(other, unit)
    return None if first is None or second is None else first > second


@dataclass(frozen=True, slots=True)
class Count:
    """Whether a list that is recorded has so many items."""

    field: str
    at_least: int

    def answer(self, context: Context) -> Answer:
        found = len(values(self.field, context))
        return found >= self.at_least if found else None


def shown(value: Any) -> str:
    """A number with its unit, as a message tells it."""
    if isinstance(value, Measure):
        words = _UNIT_WORDS.get(value.unit, value.unit)
        return f"{value.value.normalize():f} {words}".rstrip()
    if isinstance(value, Size):
        return f"{value.value.normalize():f} {value.scale}"
    return f"{value}"


_UNIT_WORDS: Mapping[str, str] = {
    "mm[Hg]": "mmHg",
    "cm[H2O]": "cmH2O",
    "mm[H2O]": "mmH2O",
    "Cel": "°C",
    "wk": "weeks",
    "mo": "months",
    "a": "years",
    "d": "days",
    "[drp]": "drops",
    "1": "",
}
