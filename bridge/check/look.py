"""Careful looks into data that may be anything: each answers with nothing where the shape is wrong."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Any

from bridge.fhir import tables
from bridge.shapes import Json


def text(node: Any, key: str) -> str:
    """The text under a key, or an empty one."""
    value = node.get(key) if isinstance(node, dict) else None
    return value if isinstance(value, str) else ""


def part(node: Any, key: str) -> Json:
    """The object under a key, or an empty one."""
    value = node.get(key) if isinstance(node, dict) else None
    return value if isinstance(value, dict) else {}


def parts(node: Any, key: str) -> list[Json]:
    """The objects in the list under a key; an object that stands there without a list counts too."""
    value = node.get(key) if isinstance(node, dict) else None
    if isinstance(value, dict):
        return [value]
    return [item for item in value if isinstance(item, dict)] if isinstance(value, list) else []


def numbered(node: Any, key: str) -> Iterator[tuple[int, Json]]:
    """The objects in the list under a key, each with its number."""
    value = node.get(key) if isinstance(node, dict) else None
    return ((n, item) for n, item in enumerate(value if isinstance(value, list) else ()) if isinstance(item, dict))


def has(node: Json, *names: str) -> bool:
    """Whether any of the elements is there, also as `_name` only; `value[x]` stands for every choice."""
    for name in names:
        if name[-1:] == "]":
            if not choices(name).isdisjoint(node):
                return True
        elif name in node or "_" + name in node:
            return True
    return False


@cache
def choices(name: str) -> frozenset[str]:
    """Every way JSON can spell a choice: `valueString` and `_valueString` for `value[x]`, whatever the type."""
    spelt = {f"{name[:-3]}{type[0].upper()}{type[1:]}" for type in tables.types() if "." not in type}
    return frozenset(spelt | {f"_{key}" for key in spelt})


def codings(node: Any, key: str) -> list[tuple[str, str]]:
    """System and code of every coding of the CodeableConcept (or of each in the list) under a key."""
    found = []
    for concept in parts(node, key):
        for coding in parts(concept, "coding"):
            system, code = coding.get("system"), coding.get("code")
            found.append((system if isinstance(system, str) else "", code if isinstance(code, str) else ""))
    return found


def inside(node: Any) -> Iterator[Json]:
    """Every object in the data, the outermost one first; does not recurse."""
    waiting = [node]
    while waiting:
        value = waiting.pop()
        if isinstance(value, dict):
            yield value
            waiting.extend(value.values())
        elif isinstance(value, list):
            waiting.extend(value)


def nested_deeper(node: Any, levels: int) -> bool:
    """Whether objects and lists stand in each other more than so many deep, as they do where data holds itself."""
    deepest: dict[int, int] = {}
    waiting = [(node, 1)]
    while waiting:
        value, depth = waiting.pop()
        if depth > levels:
            return True
        if depth <= deepest.get(id(value), 0):
            continue
        deepest[id(value)] = depth
        inner = value.values() if isinstance(value, dict) else value
        waiting += [(one, depth + 1) for one in inner if isinstance(one, dict | list)]
    return False
