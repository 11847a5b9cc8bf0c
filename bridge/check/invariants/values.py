"""Small questions that several constraints ask of the data."""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from decimal import Decimal
from typing import Any

from bridge.check.look import codings, has, text
from bridge.shapes import Json

UCUM = "http://unitsofmeasure.org"
TERMINOLOGY = "http://terminology.hl7.org/CodeSystem/"
ENTERED_IN_ERROR = "entered-in-error"


def number(value: Any) -> Decimal | None:
    """The number as it is written, or None for anything else."""
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal):
        return None
    number = Decimal(str(value))
    return number if number.is_finite() else None


def in_ucum(node: Json) -> bool:
    return (has(node, "code") or not has(node, "value")) and (not has(node, "system") or text(node, "system") == UCUM)


def is_coded(node: Json, key: str, system: str, code: str) -> bool:
    return (TERMINOLOGY + system, code) in codings(node, key)


def all_different(values: Iterable[Hashable]) -> bool:
    """Whether none of the values comes twice; what is empty does not count."""
    given = [value for value in values if value]
    return len(given) == len(set(given))
