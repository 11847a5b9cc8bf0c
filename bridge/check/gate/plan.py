"""What the gate looks at itself in an object that its schema accepted: constraints, references, periods, narratives."""

from __future__ import annotations

from collections.abc import Iterator
from enum import IntEnum
from functools import cache
from typing import NamedTuple

from bridge.check.invariants import own_constraints
from bridge.check.invariants.registry import Holds
from bridge.check.node import OUTERMOST, Node
from bridge.fhir import tables
from bridge.fhir.tables import Element
from bridge.moments import later
from bridge.shapes import Json

MAX_NESTING = 20
_VOUCHED = frozenset({"Bundle.entry"})
"""What `holds_together` looks at."""


class Kind(IntEnum):
    reference = 0
    period = 1
    narrative = 2
    part = 3


class Field(NamedTuple):
    """A property that is, or may hold, something to look at."""

    kind: Kind
    element: Element


_NOTHING = Field(Kind.narrative, OUTERMOST)


class Plan(NamedTuple):
    """How to look at objects of one type."""

    constraints: tuple[Holds, ...]
    fields: dict[str, Field]


class Seen(NamedTuple):
    """What was met in one resource."""

    references: list[tuple[str, frozenset[str]]]
    """Literal references, each with the types it may lead to (none: any)."""
    narratives: list[str]


@cache
def plan(type: str) -> Plan:
    fields = {name: Field(kind, e) for name, e in tables.elements(type).items() if (kind := _kind(e)) is not None}
    return Plan(tuple(holds for _, _, holds in own_constraints(type)), fields)


def _kind(element: Element, above: frozenset[str] = frozenset()) -> Kind | None:
    type = element.type
    if type in ("Reference", "Period", "Narrative"):
        return {"Reference": Kind.reference, "Period": Kind.period, "Narrative": Kind.narrative}[type]
    if not tables.is_part(type) or type in above or type in _VOUCHED:
        return None
    inner = above | {type}
    if own_constraints(type) or any(_kind(e, inner) is not None for e in tables.elements(type).values()):
        return Kind.part
    return None


def look(value: Json, type: str, element: Element, resource: Json, seen: Seen, depth: int = 0) -> bool:
    """Whether everything holds in an object and below it; False also where it is nested too deep to be sure."""
    constraints, fields = plan(type)
    if constraints:
        node = Node("", type, value, element, resource)
        for holds in constraints:
            if not holds(value, node):
                return False
    for name, inner in value.items():
        if name not in fields:
            continue
        kind, found = fields[name]
        for item in inner if found.many else (inner,):
            if kind is Kind.reference:
                if "reference" in item:
                    seen.references.append((item["reference"], found.targets))
            elif kind is Kind.period:
                if later(item.get("start", ""), item.get("end", "")):
                    return False
            elif kind is Kind.narrative:
                seen.narratives.append(item["div"])
            elif depth > MAX_NESTING or not look(item, found.type, found, resource, seen, depth + 1):
                return False
    return True


def links(value: Json, type: str, path: str, element: Element, resource: Json) -> Iterator[Node]:
    """The object and every reference below it, as the careful walk would note them, in an object that passed."""
    yield Node(path, type, value, element, resource)
    fields = plan(type).fields
    for name, inner in value.items():
        kind, found = fields.get(name, _NOTHING)
        if kind in (Kind.reference, Kind.part):
            for index, item in enumerate(inner if found.many else (inner,)):
                place = f"{path}.{name}[{index}]" if found.many else f"{path}.{name}"
                if kind is Kind.reference:
                    yield Node(place, "Reference", item, found, resource)
                else:
                    yield from links(item, found.type, place, found, resource)
