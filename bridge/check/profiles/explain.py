"""Which element of which profile each element of a document was held against."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from bridge.check.profiles import Asked, Held, check_profiles
from bridge.fhir import tables
from bridge.fhir.ndjson import Lines
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
    if isinstance(data, Lines):
        return [one for n in range(len(data.numbers)) for one in _of_line(data, n, path, held, rules, around)]
    return list(_rows(data, path, 0, held, rules, around)) if isinstance(data, dict) else []


def _of_line(
    data: Lines, n: int, path: str, held: Holders, rules: dict[str, dict[str, None]], around: set[str]
) -> Iterator[Explained]:
    """A line stands by itself: its paths begin with its own type."""
    place, resource = f"{path}.entry[{n}].resource", data["entry"][n]["resource"]
    type = str(resource.get("resourceType", "Resource"))[:60]
    for one in _rows(resource, place, 0, held, rules, around):
        yield replace(one, path=type + one.path[len(place) :], row=data.numbers[n])


def _cut(path: str, dots: int) -> int:
    """Where the path ends after so many dots."""
    at = -1
    for _ in range(dots + 1):
        at = path.find(".", at + 1)
        if at < 0:
            return len(path)
    return at


def _rows(
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
                yield from _rows(one, place, depth + 1, held, rules, around)
            elif place in around or type:
                yield Explained(place, depth + 1, "", tuple(held.get(place, ())), tuple(rules.get(place, ())))
