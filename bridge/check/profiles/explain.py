"""Which element of which profile each element of a document was held against."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from bridge.check.profiles import Asked, Held, check_profiles
from bridge.fhir import tables
from bridge.issues import Explained
from bridge.shapes import Json

Holders = dict[str, dict[tuple[str, str, str], None]]


def explain(data: Any, path: str, asked: Asked | None) -> list[Explained]:
    """Every element of every resource in the order of the data, deeper ones as far as a profile speaks of them."""
    held: Holders = {}
    rules: dict[str, dict[str, None]] = {}

    def note(one: Held) -> None:
        held.setdefault(one.path, {})[one.profile, one.element, one.slice] = None

    for found in check_profiles(data, path, asked, note):
        rules.setdefault(found.where.path, {})[found.rule] = None
    around = {place[: _cut(place, n)] for place in (*held, *rules) for n in range(place.count(".") + 1)}
    return list(_lines(data, path, 0, held, rules, around)) if isinstance(data, dict) else []


def _cut(path: str, dots: int) -> int:
    """Where the path ends after so many dots."""
    at = -1
    for _ in range(dots + 1):
        at = path.find(".", at + 1)
        if at < 0:
            return len(path)
    return at


def _lines(
    value: Json, path: str, depth: int, held: Holders, rules: dict[str, dict[str, None]], around: set[str]
) -> Iterator[Explained]:
    told = value.get("resourceType")
    type = told if isinstance(told, str) and tables.is_resource(told) else ""
    yield Explained(path, depth, type, tuple(held.get(path, ())), tuple(rules.get(path, ())))
    for key, inner in value.items():
        if key == "resourceType" or not isinstance(key, str):
            continue
        many = isinstance(inner, list)
        for number, one in enumerate(inner if many else [inner]):
            place = f"{path}.{key}[{number}]" if many else f"{path}.{key}"
            if isinstance(one, dict) and (place in around or "resourceType" in one):
                yield from _lines(one, place, depth + 1, held, rules, around)
            elif place in around or type:
                yield Explained(place, depth + 1, "", tuple(held.get(place, ())), tuple(rules.get(place, ())))
