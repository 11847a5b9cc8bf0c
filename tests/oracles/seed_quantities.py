"""Quantities with units that are none, and comparators where none may be (class 10). Source: data types page, UCUM."""

from __future__ import annotations

from collections.abc import Iterator

from tests.oracles.seed_definitions import Json, spell, table
from tests.oracles.seed_fault import Fault, Found, found

UCUM = "http://unitsofmeasure.org"
KINDS = frozenset({"Quantity", "Age", "Count", "Distance", "Duration"})


def faults(data: Json) -> Iterator[Fault]:
    for each in found(data):
        for keys, value in each.items:
            if each.spot.type in KINDS and isinstance(value, dict):
                yield from quantity(each, keys)
            if each.spot.type == "Money":
                yield each.fault(
                    10, "Money: a currency that is none", (*keys, "currency"), "zz", at=(*keys, "currency")
                )
                yield each.fault(10, "Money: a currency in small letters", (*keys, "currency"), "gbp")


def quantity(each: Found, keys: tuple[object, ...]) -> Iterator[Fault]:
    base: Json = {"value": 1, "system": UCUM, "code": "mm"}
    code, comparator, system = (f"{spell(each.data, keys)}.{name}" for name in ("code", "comparator", "system"))
    if each.spot.type == "Quantity":
        for kind, unit in table("units").items():
            yield each.fault(10, f"UCUM: {kind}", keys, {**base, "code": unit}, code)
        yield each.fault(10, "a code of a unit without system", keys, {"value": 1, "code": "mm"}, code, system)
        if each.fact.simple:
            yield each.fault(10, "a comparator where none may be", keys, {**base, "comparator": "<"}, comparator)
            return
        for sign in ("=", "≥", "lt", "<<"):
            yield each.fault(10, "a comparator that is none", keys, {**base, "comparator": sign}, comparator)
        return
    if each.spot.type != "Duration":  # the words of drt-1 ask for a code beside a value, its expression does not
        yield each.fault(10, f"{each.spot.type}: no code beside the value", keys, {"value": 1, "unit": "a"}, code)
    yield each.fault(
        10, f"{each.spot.type}: a code without system", keys, {"value": 1, "code": OF[each.spot.type]}, code, system
    )
    other = {"value": 1, "system": "https://example.org/own", "code": OF[each.spot.type]}
    yield each.fault(10, f"{each.spot.type}: a system other than UCUM", keys, other, system)
    yield each.fault(10, f"{each.spot.type}: a unit that is none", keys, {**base, "code": "zz"}, code)
    for bad in WRONG[each.spot.type]:
        yield each.fault(
            10,
            f"{each.spot.type}: what is no {each.spot.type.lower()}",
            keys,
            {**base, **bad},
            code,
            f"{spell(each.data, keys)}.value",
        )


OF = {"Age": "a", "Count": "1", "Distance": "m", "Duration": "h"}
WRONG: dict[str, list[Json]] = {
    "Age": [{"code": "kg"}, {"code": "a", "value": 0}, {"code": "a", "value": -1}],
    "Count": [{"code": "mm"}, {"code": "1", "value": 1.5}],
    "Distance": [{"code": "kg"}],
    "Duration": [{"code": "kg"}],
}
