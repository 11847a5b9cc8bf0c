"""What the gate looks at itself in an object that its schema accepted: constraints, references, periods and such."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Literal, NamedTuple, get_args

from bridge.check.invariants import own_constraints
from bridge.check.invariants.registry import Holds
from bridge.check.node import OUTERMOST, Node
from bridge.fhir import tables
from bridge.fhir.tables import Element
from bridge.moments import later
from bridge.shapes import Json

MAX_NESTING = 20
CONTAINED = tables.elements("DomainResource")["contained"]
_VOUCHED = {
    "Bundle": {"bdl-1", "bdl-2", "bdl-3", "bdl-4", "bdl-5", "bdl-7", "bdl-8"},
    "Bundle.entry": {"bdl-5", "bdl-8"},
}
"""Constraints of bundles that hold wherever `holds_together` says yes."""


Kind = Literal["reference", "period", "narrative", "whole", "part"]
_REFERENCE, _PERIOD, _NARRATIVE, _WHOLE, _PART = get_args(Kind)
_KINDS: dict[str, Kind] = {
    "Reference": "reference",
    "Period": "period",
    "Narrative": "narrative",
    "integer": "whole",
    "positiveInt": "whole",
    "unsignedInt": "whole",
}


class Field(NamedTuple):
    """A property that is, or may hold, something to look at."""

    kind: Kind
    element: Element
    many: bool
    only: frozenset[str] | None
    """For a part: it needs a look only where it has one of these properties; None where it always does."""


_NOTHING = Field("narrative", OUTERMOST, False, None)


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
    fields = {}
    for name, element in tables.elements(type).items():
        kind = _kind(element)
        if kind:
            only = frozenset(_names(element.type)) if kind == "part" and not own_constraints(element.type) else None
            fields[name] = Field(kind, element, element.many, only)
    vouched = _VOUCHED.get(type, set())
    return Plan(tuple(holds for _, key, holds in own_constraints(type) if key not in vouched), fields)


def _names(type: str) -> list[str]:
    """Properties of a type that need a look."""
    return [name for name, element in tables.elements(type).items() if _kind(element)]


def _kind(element: Element, above: frozenset[str] = frozenset()) -> Kind | None:
    type = element.type
    if type in _KINDS:
        return _KINDS[type]
    if not tables.is_part(type) or type in above or type == "Bundle.entry":
        return None
    inner = above | {type}
    if own_constraints(type) or any(_kind(e, inner) for e in tables.elements(type).values()):
        return "part"
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
        kind, found, many, only = fields[name]
        for item in inner if many else (inner,):
            if kind == _REFERENCE:
                if "reference" in item:
                    seen.references.append((item["reference"], found.targets))
            elif kind == _PERIOD:
                if len(item) > 1 and later(item.get("start", ""), item.get("end", "")):
                    return False
            elif kind == _NARRATIVE:
                seen.narratives.append(item["div"])
            elif kind == _WHOLE:
                if item.__class__ is not int:  # -0 is kept as Decimal, which a schema takes for whole
                    return False
            elif only is not None and only.isdisjoint(item):
                continue
            elif depth > MAX_NESTING or not look(item, found.type, found, resource, seen, depth + 1):
                return False
    return True


def links(value: Json, type: str, path: str, element: Element, resource: Json) -> Iterator[Node]:
    """The object and every reference below it, as the careful walk would note them, in an object that passed."""
    yield Node(path, type, value, element, resource)
    fields = plan(type).fields
    for name, inner in value.items():
        if name == "contained":
            for index, item in enumerate(inner):
                yield from links(item, item["resourceType"], f"{path}.contained[{index}]", CONTAINED, resource)
            continue
        kind, found, many, _ = fields.get(name, _NOTHING)
        if kind in (_REFERENCE, _PART):
            for index, item in enumerate(inner if many else (inner,)):
                place = f"{path}.{name}[{index}]" if many else f"{path}.{name}"
                if kind == _REFERENCE:
                    yield Node(place, "Reference", item, found, resource)
                else:
                    yield from links(item, found.type, place, found, resource)
