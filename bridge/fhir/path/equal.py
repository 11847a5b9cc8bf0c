"""Equal, equivalent, less and greater. Source: https://hl7.org/fhirpath/N1/#equality and #comparison."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from bridge.fhir.path import moments
from bridge.fhir.path.items import AWAY, Item, Items
from bridge.fhir.path.kinds import as_number, kind_of, single
from bridge.fhir.path.undecided import UndecidedError

_MOMENTS = {"Date", "DateTime", "Time"}
_NUMBERS = {"Integer", "Decimal"}
_UCUM = "http://unitsofmeasure.org"
Key = object


def equal(left: Items, right: Items) -> bool | None:
    """`=`: the same items in the same order; None where a side is empty or two dates differ in precision alone."""
    if not left or not right:
        return None
    if len(left) != len(right):
        return False
    answer: bool | None = True
    for one, other in zip(left, right, strict=True):
        same = same_item(one, other)
        if same is False:
            return False
        if same is None:
            answer = None
    return answer


def same_item(one: Item, other: Item) -> bool | None:
    mine, its = kind_of(one[1]), kind_of(other[1])
    if mine in _MOMENTS and its in _MOMENTS and isinstance(one[0], str) and isinstance(other[0], str):
        if one[0] == other[0]:
            return True
        ordered = moments.order(one[0], other[0])
        return None if ordered is None else ordered == 0
    if mine == "Quantity" == its and (one[1][:7] == "System." or other[1][:7] == "System."):
        (a, unit), (b, its_unit) = measure(one), measure(other)
        if unit != its_unit:
            raise UndecidedError
        return a == b
    if one[0] is None and other[0] is None:
        return key((None, "", one[2])) == key((None, "", other[2]))
    return key(one) == key(other)


def key(item: Item) -> Key:
    """What two items share exactly when they are equal; can be hashed. Raises UndecidedError for what is too deep."""
    value = item[0]
    if value is AWAY:
        raise UndecidedError
    if value is None:
        return ("none", _key(item[2], 0))
    return _key(value, 0)


def _key(value: Any, depth: int) -> Key:
    if isinstance(value, str):
        return value
    if isinstance(value, bool) or value is None:
        return ("truth", value)
    if isinstance(value, int | float | Decimal):
        return as_number(value)
    if depth > 100:
        raise UndecidedError
    if isinstance(value, dict):
        return ("object", frozenset((str(name), _key(inner, depth + 1)) for name, inner in value.items()))
    return ("list", tuple(_key(inner, depth + 1) for inner in value))


def distinct(items: Items) -> Items:
    return list({key(item): item for item in reversed(items)}.values())[::-1]


def equivalent(left: Items, right: Items) -> bool:
    """`~`: the same items in any order, texts whatever their case and gaps, numbers as far as both go."""
    if len(left) != len(right):
        return False
    if len(left) > 500:
        raise UndecidedError
    waiting = list(right)
    for one in left:
        for n, other in enumerate(waiting):
            if _alike(one[0], other[0], kind_of(one[1]), kind_of(other[1]), 0):
                del waiting[n]
                break
        else:
            return False
    return True


def _alike(one: Any, other: Any, mine: str, its: str, depth: int) -> bool:
    if depth > 60 or one is AWAY or other is AWAY:
        raise UndecidedError
    if mine in _MOMENTS and its in _MOMENTS and isinstance(one, str) and isinstance(other, str):
        return one == other or moments.order(one, other) == 0
    if isinstance(one, str) and isinstance(other, str):
        return " ".join(one.lower().split()) == " ".join(other.lower().split())
    if isinstance(one, bool) or isinstance(other, bool):
        return one is other
    if isinstance(one, int | float | Decimal) and isinstance(other, int | float | Decimal):
        return _rounded_alike(Decimal(as_number(one)), Decimal(as_number(other)))
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(_alike(v, other[k], "", "", depth + 1) for k, v in one.items())
    if isinstance(one, list) and isinstance(other, list):
        if len(one) != len(other) or len(one) > 500:
            return False
        waiting = list(other)
        for inner in one:
            found = next((n for n, o in enumerate(waiting) if _alike(inner, o, "", "", depth + 1)), None)
            if found is None:
                return False
            del waiting[found]
        return True
    return one is None and other is None


def _rounded_alike(one: Decimal, other: Decimal) -> bool:
    coarser = max((one, other), key=lambda d: int(d.as_tuple().exponent))
    step = Decimal(1).scaleb(int(coarser.as_tuple().exponent))
    if max(one.adjusted(), other.adjusted()) - step.adjusted() > 25:
        return one == other
    return one.quantize(step, ROUND_HALF_UP) == other.quantize(step, ROUND_HALF_UP)


def compare(left: Items, right: Items) -> int | None:
    """-1, 0 or 1; None where a side is empty or the dates do not tell. Raises UndecidedError for what has no order."""
    one, other = single(left), single(right)
    if one is None or other is None or one[0] is None or other[0] is None:
        return None
    mine, its = kind_of(one[1]), kind_of(other[1])
    a, b = one[0], other[0]
    if mine in _NUMBERS and its in _NUMBERS:
        a, b = as_number(a), as_number(b)
    elif mine == "Quantity" == its:
        (a, unit), (b, its_unit) = measure(one), measure(other)
        if unit != its_unit:
            raise UndecidedError
    elif not (isinstance(a, str) and isinstance(b, str)):
        raise UndecidedError
    elif mine in _MOMENTS and its in _MOMENTS:
        return moments.order(a, b)
    elif mine != its:
        raise UndecidedError
    return int(a > b) - int(a < b)


def measure(item: Item) -> tuple[Decimal, str]:
    """Value and unit of a Quantity. Raises UndecidedError for one with a comparator or without value."""
    value = item[0]
    if isinstance(value, tuple):
        amount, unit = value
        return amount, str(unit)
    if not isinstance(value, dict) or "comparator" in value:
        raise UndecidedError
    found = Decimal(as_number(value.get("value")))
    system, code, unit = value.get("system"), value.get("code"), value.get("unit")
    if isinstance(code, str):
        return found, code if system == _UCUM else f"{system}|{code}"
    return found, f"text:{unit}" if isinstance(unit, str) else "1"
