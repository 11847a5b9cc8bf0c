"""Functions of FHIRPath on texts, and from one simple type to another. Source: https://hl7.org/fhirpath/N1/#string-
manipulation and #conversion.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal
from typing import Any

from bridge.fhir.path import moments, patterns
from bridge.fhir.path.items import Items, Run
from bridge.fhir.path.kinds import as_number, kind_of, made, single, text
from bridge.fhir.path.sums import whole_number
from bridge.fhir.path.undecided import BeyondError, UndecidedError

MAX_TEXT = 1_000_000


def _asks(says: Callable[[str, str], bool]) -> Callable[[str, Items], Items]:
    def asked(given: str, arg: Items) -> Items:
        other = text(arg)
        return [] if other is None else made(says(given, other), "Boolean")

    return asked


def _substring(given: str, start: Items, length: Items | None = None) -> Items:
    at = whole_number(start)
    count = whole_number(length) if length else None
    if at is None or not 0 <= at < len(given):
        return []
    return made(given[at:] if count is None else given[at : at + max(count, 0)], "String")


def _replace(given: str, old: Items, new: Items) -> Items:
    one, other = text(old), text(new)
    if one is None or other is None:
        return []
    if (len(given) + 1) * (len(other) + 1) > MAX_TEXT * 10:
        raise UndecidedError
    return made(given.replace(one, other), "String")


def _replace_matches(given: str, pattern: Items, by: Items) -> Items:
    one, other = text(pattern), text(by)
    if one is None or other is None:
        return []
    if (len(given) + 1) * (len(other) + 1) > MAX_TEXT * 10:
        raise UndecidedError
    return made(patterns.replaced(one, given, other), "String")


def _index_of(given: str, part: Items) -> Items:
    other = text(part)
    return [] if other is None else made(given.find(other), "Integer")


def _split(given: str, by: Items) -> Items:
    other = text(by)
    if not other:
        raise UndecidedError
    return [(piece, "System.String", None) for piece in given.split(other)]


def _full(given: str, arg: Items) -> Items:
    pattern = text(arg)
    return [] if pattern is None else made(patterns.found(f"^(?:{pattern})\\Z", given), "Boolean")


TEXTS: dict[str, tuple[set[int], Callable[..., Items]]] = {
    "startsWith": ({1}, _asks(str.startswith)),
    "endsWith": ({1}, _asks(str.endswith)),
    "contains": ({1}, _asks(lambda given, part: part in given)),
    "matchesFull": ({1}, _full),
    "length": ({0}, lambda given: made(len(given), "Integer")),
    "lower": ({0}, lambda given: made(given.lower(), "String")),
    "upper": ({0}, lambda given: made(given.upper(), "String")),
    "trim": ({0}, lambda given: made(given.strip(), "String")),
    "toChars": ({0}, lambda given: [(char, "System.String", None) for char in given]),
    "indexOf": ({1}, _index_of),
    "split": ({1}, _split),
    "substring": ({1, 2}, _substring),
    "replace": ({2}, _replace),
    "replaceMatches": ({2}, _replace_matches),
}
"""How many arguments each may have, and the function of the text and its arguments."""

_WORDS = {
    **dict.fromkeys(("true", "t", "yes", "y", "1", "1.0"), True),
    **dict.fromkeys(("false", "f", "no", "n", "0", "0.0"), False),
}
_NUMBERS: dict[int | Decimal, bool] = {0: False, 1: True}
_INTEGER = re.compile(r"[+-]?\d{1,30}\Z", re.ASCII)
_DECIMAL = re.compile(r"[+-]?\d{1,30}(\.\d{1,30})?\Z", re.ASCII)


def _to_boolean(value: Any, kind: str) -> Any:
    if kind == "Boolean":
        return value
    if kind == "String":
        return _WORDS.get(value.lower())
    return _NUMBERS.get(as_number(value)) if kind in {"Integer", "Decimal"} else None


def _to_integer(value: Any, kind: str) -> Any:
    if kind == "Integer":
        return as_number(value)
    if kind == "Boolean":
        return int(value)
    return int(value) if kind == "String" and _INTEGER.match(value) else None


def _to_decimal(value: Any, kind: str) -> Any:
    if kind in {"Integer", "Decimal"}:
        return Decimal(as_number(value))
    if kind == "Boolean":
        return Decimal(int(value))
    return Decimal(value) if kind == "String" and _DECIMAL.match(value) else None


def _to_string(value: Any, kind: str) -> Any:
    if kind == "Boolean":
        return "true" if value else "false"
    if kind in {"Integer", "Decimal"}:
        return format(as_number(value), "f") if kind == "Decimal" else str(as_number(value))
    return value if isinstance(value, str) else None


def _to_moment(value: Any, kind: str, wanted: str) -> Any:
    if not isinstance(value, str) or kind not in {"String", "Date", "DateTime", "Time"}:
        return None
    try:
        found = moments.moment(value)
    except UndecidedError:
        return None
    if found.dated is (wanted == "Time"):
        return None
    return value.partition("T")[0] if wanted == "Date" else value


_TO: dict[str, Callable[[Any, str], Any]] = {
    "Boolean": _to_boolean,
    "Integer": _to_integer,
    "Decimal": _to_decimal,
    "String": _to_string,
    "Date": lambda value, kind: _to_moment(value, kind, "Date"),
    "DateTime": lambda value, kind: _to_moment(value, kind, "DateTime"),
    "Time": lambda value, kind: _to_moment(value, kind, "Time"),
}
_NATURE: dict[str, type | tuple[type, ...]] = {"Boolean": bool, "Integer": int, "Decimal": (int, float, Decimal)}


def _converted(wanted: str, items: Items) -> Any:
    item = single(items)
    if item is None or item[0] is None:
        return None
    kind = kind_of(item[1])
    if not kind or kind == "Quantity":
        raise BeyondError
    if not isinstance(item[0], _NATURE.get(kind, str)):
        raise UndecidedError
    return _TO[wanted](item[0], kind)


def _conversion(wanted: str) -> Callable[[Items, Run], Items]:
    def convert(items: Items, run: Run) -> Items:
        found = _converted(wanted, items)
        return [] if found is None else made(found, wanted)

    return convert


def _question(wanted: str) -> Callable[[Items, Run], Items]:
    def asked(items: Items, run: Run) -> Items:
        return made(_converted(wanted, items) is not None, "Boolean") if items else []

    return asked


CONVERSIONS = {f"to{name}": _conversion(name) for name in _TO} | {f"convertsTo{name}": _question(name) for name in _TO}
"""`toInteger()`, `convertsToInteger()` and the like."""
