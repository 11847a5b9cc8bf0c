"""Arithmetic of FHIRPath. Source: https://hl7.org/fhirpath/N1/#math."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation, localcontext

from bridge.fhir.path.items import Items
from bridge.fhir.path.kinds import kind_of, made, number, single
from bridge.fhir.path.undecided import BeyondError, UndecidedError

MAX_TEXT = 1_000_000
_UNITS = {"second": "s", "millisecond": "ms"}


def unit(word: str) -> str:
    """The unit of a quantity literal: UCUM, where a second is one of the calendar too."""
    return _UNITS.get(word.removesuffix("s"), word.removesuffix("s")) if word.isalpha() and len(word) > 2 else word


def whole_number(items: Items) -> int | None:
    found = number(items)
    if found is None:
        return None
    if not isinstance(found, int):
        raise UndecidedError
    return found


def negative(items: Items) -> Items:
    found = number(items)
    return [] if found is None else _number(-found)


def worked_out(word: str, left: Items, right: Items) -> Items:
    """`+ - * / div mod` of two single values. Raises BeyondError for dates and quantities."""
    one, other = single(left), single(right)
    if one is None or other is None:
        return []
    if kind_of(one[1]) == "String" == kind_of(other[1]) and word == "+":
        if one[0] is None or other[0] is None:
            return []
        if not isinstance(one[0], str) or not isinstance(other[0], str):
            raise UndecidedError
        return joined(one[0], other[0])
    if not {kind_of(one[1]), kind_of(other[1])} <= {"Integer", "Decimal"}:
        raise BeyondError
    a, b = number(left), number(right)
    if a is None or b is None:
        return []
    try:
        with localcontext() as context:
            context.prec = 60
            return _reckoned(word, a, b)
    except (InvalidOperation, OverflowError):
        raise UndecidedError from None


def joined(one: str, other: str) -> Items:
    """Two texts as one. Raises UndecidedError where that is too long."""
    if len(one) + len(other) > MAX_TEXT:
        raise UndecidedError
    return made(one + other, "String")


def _reckoned(word: str, a: int | Decimal, b: int | Decimal) -> Items:
    if word == "+":
        return _number(a + b)
    if word == "-":
        return _number(a - b)
    if word == "*":
        return _number(a * b)
    if b == 0:
        return []
    if word == "/":
        return _number(Decimal(a) / Decimal(b))
    quotient = int(Decimal(a) / Decimal(b))
    return made(quotient, "Integer") if word == "div" else _number(a - quotient * b)


def _number(value: int | Decimal) -> Items:
    return made(value, "Integer" if isinstance(value, int) else "Decimal")
