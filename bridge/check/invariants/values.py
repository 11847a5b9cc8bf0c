"""Small questions that several constraints ask of the data."""

from __future__ import annotations

import re
from collections.abc import Hashable, Iterable, Mapping
from decimal import Decimal
from functools import cache
from typing import Any

from bridge.check.look import codings, has, parts, text
from bridge.check.references import RESTFUL
from bridge.check.ucum import UCUM
from bridge.data import load_csv, table_path
from bridge.fhir import tables
from bridge.shapes import Json

TERMINOLOGY = "http://terminology.hl7.org/CodeSystem/"
ENTERED_IN_ERROR = "entered-in-error"
_PREFIX = "(?:da|[YZEPTGMkhdcmunpfazy])"
_TIME = re.compile(rf"{_PREFIX}?s|min|h|d|wk|mo(?:_[sjg])?|a(?:_[tjg])?")
_LENGTH = re.compile(rf"{_PREFIX}?(?:m|pc)|AU|Ao")
_ONE_UNIT = re.compile(r"[A-Za-z_%']+")
_MOST_BITS = 1024
_last: list[tuple[Json, Mapping[str, str]]] = []


@cache
def _sizes() -> dict[str, tuple[str, Decimal]]:
    """What a common unit of UCUM measures, and its size; from `mappings/standard/ucum-sizes.csv`."""
    rows = load_csv(table_path("standard", "ucum-sizes.csv"))
    return {row["code"]: (row["measures"], Decimal(row["size"])) for row in rows}


def units_of(measured: str) -> list[str]:
    """The common units of `time` or `length`."""
    return [unit for unit, (kind, _) in _sizes().items() if kind == measured]


def number(value: Any) -> Decimal | None:
    """The number as it is written, or None for anything else, and for one so long that it measures nothing."""
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal):
        return None
    if isinstance(value, int) and value.bit_length() > _MOST_BITS:
        return None
    number = Decimal(str(value))
    return number if number.is_finite() else None


def in_ucum(node: Json) -> bool:
    return (has(node, "code") or not has(node, "value")) and (not has(node, "system") or text(node, "system") == UCUM)


def measures_time(node: Json) -> bool:
    """Whether the unit may be one of time; False only for one unit without signs or figures that is none."""
    return _may_be(_TIME, text(node, "code"))


def measures_length(node: Json) -> bool:
    """Whether the unit may be one of length, as above."""
    return _may_be(_LENGTH, text(node, "code"))


def _may_be(kind: re.Pattern[str], code: str) -> bool:
    return _ONE_UNIT.fullmatch(code) is None or kind.fullmatch(code) is not None


def above(low: Json, high: Json) -> bool:
    """Whether the first quantity is surely more than the second: their units are the same, or are known to compare."""
    first, second = number(low.get("value")), number(high.get("value"))
    if first is None or second is None:
        return False
    if _unit(low) == _unit(high):
        return first > second
    one, other = _sizes().get(text(low, "code")), _sizes().get(text(high, "code"))
    if one is None or other is None or one[0] != other[0] or not text(low, "system") == UCUM == text(high, "system"):
        return False
    try:
        return first * one[1] > second * other[1]
    except ArithmeticError:
        return False


def _unit(quantity: Json) -> tuple[str, str]:
    """System and code; where there is no code, the word for the unit."""
    code = text(quantity, "code")
    return (text(quantity, "system"), code) if code else ("", text(quantity, "unit"))


def is_coded(node: Json, key: str, system: str, code: str) -> bool:
    return (TERMINOLOGY + system, code) in codings(node, key)


def entered_in_error(node: Json, system: str) -> bool:
    return is_coded(node, "verificationStatus", system, ENTERED_IN_ERROR)


def all_different(values: Iterable[Hashable]) -> bool:
    """Whether none of the values comes twice; what is empty does not count."""
    given = [value for value in values if value]
    return len(given) == len(set(given))


def contained(resource: Json) -> Mapping[str, str]:
    """Type by id of what a resource contains; kept for the next question, which is mostly about the same resource."""
    if "contained" not in resource:
        return {}
    for last, known in tuple(_last):  # another thread may change it meanwhile
        if last is resource:
            return known
    found = {text(c, "id"): text(c, "resourceType") for c in parts(resource, "contained") if text(c, "id")}
    _last[:] = [(resource, found)]
    return found


def forget() -> None:
    """To be called before data is looked at, which may have changed, and after, for it is not ours to keep."""
    _last.clear()


def kind_of(reference: Json, resource: Json) -> str:
    """The type of resource that a Reference leads to, as far as it says so or a contained one shows it; else empty."""
    literal = text(reference, "reference")
    if literal.startswith("#"):
        return contained(resource).get(literal[1:], "") or text(reference, "type")
    named = RESTFUL.fullmatch(literal)
    return named[2] if named and tables.is_resource(named[2]) else text(reference, "type")
