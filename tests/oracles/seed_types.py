"""Faults of the JSON type (class 14): text for number, null, lists in lists, `_x` that does not line up."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from tests.oracles.seed_definitions import Json, plus
from tests.oracles.seed_fault import Fault, Found, found

BESIDE = {"extension": [{"url": "https://example.org/a", "valueCode": "a"}]}
NUMBERS = frozenset({"decimal", "integer", "positiveInt", "unsignedInt"})


def faults(data: Json) -> Iterator[Fault]:
    for each in found(data):
        for keys, value in each.items:
            yield from wrong_type(each, keys, value)
        yield from nothing(each)
        if each.simple and not each.fact.attribute and each.spot.type != "xhtml":
            yield from beside(each)


def wrong_type(each: Found, keys: tuple[Any, ...], value: Any) -> Iterator[Fault]:
    bads: dict[str, Any]
    if not each.simple:
        bads = {
            "a text for an object": "a",
            "a number for an object": 1,
            "true for an object": True,
            "an empty object": {},
            "an object of null": {"id": None},
        }
        bads["a list in a list"] = [value]
    elif each.spot.type == "boolean":
        bads = {"a text for a boolean": "true", "a number for a boolean": 1, "an object for a boolean": {"value": True}}
    elif each.spot.type in NUMBERS:
        bads = {
            "a text for a number": "1",
            "true for a number": True,
            "an object for a number": {"value": 1},
            "an empty text for a number": "",
        }
    else:
        bads = {
            "a number for a text": 2026,
            "true for a text": True,
            "an object for a text": {"value": "a"},
            "a fraction for a text": 1.5,
            "an empty text": "",
        }
    if isinstance(each.spot.value, list):
        bads["a list in a list"] = [value]
        if len(each.spot.value) == 1 and f"_{each.keys[-1]}" not in each.holder:
            bads["null for the only entry"] = None
    for kind, bad in bads.items():
        # what is inside of a broken object may be named instead
        more = [f"{place}.id" for place in each.fault(14, "", keys, bad).places]
        yield each.fault(14, kind, keys, bad, *more)


def nothing(each: Found) -> Iterator[Fault]:
    yield each.fault(14, "null for a value", each.keys, None)
    if isinstance(each.spot.value, list) and not each.simple:
        keys = (*each.keys, len(each.spot.value))
        yield each.fault(14, "null in a list of objects", each.keys, [*each.spot.value, None], at=keys)
        yield each.fault(14, "an empty object in a list", each.keys, [*each.spot.value, {}], at=keys)


def beside(each: Found) -> Iterator[Fault]:
    name = f"_{each.keys[-1]}"
    if name in each.holder:
        return
    at = (*each.parent, name)
    bads: dict[str, Any] = {
        "null beside a value": None,
        "a text beside a value": "a",
        "an empty object beside a value": {},
        "a value beside a value": {"value": "a"},
    }
    if isinstance(each.spot.value, list):
        count = len(each.spot.value)
        bads = {
            "a longer list beside a list": [BESIDE] * (count + 1),
            "only null beside a list": [None] * count,
            "an empty list beside a list": [],
            "a text in the list beside": ["a"] * count,
            "a shorter list beside a list": [BESIDE] * (count - 1),
        }
        lone = {key: value for key, value in each.holder.items() if key != each.keys[-1]} | {
            str(each.keys[-1]): [*each.spot.value, None],
            name: [*[BESIDE] * count, None],
        }
        places = [f"{place}{end}" for place in each.fault(14, "", at, 0).places for end in ("", f"[{count}]")]
        if each.fact.max != "1":
            yield each.fault(14, "null on both sides", each.parent, lambda node: lone, *places, at=(*each.keys, count))
    for kind, bad in bads.items():
        places = [f"{place}{end}" for place in each.fault(14, "", at, bad).places for end in ("[0]", ".value")]
        yield each.fault(14, kind, each.parent, plus(**{name: bad}), *places, at=at)
