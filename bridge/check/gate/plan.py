"""What the gate looks at itself in an object that its schema accepted: constraints, references, periods."""

from __future__ import annotations

from functools import cache
from typing import Any, NamedTuple

from bridge.check.invariants import own_constraints
from bridge.check.invariants.registry import Holds
from bridge.check.node import Node
from bridge.fhir import tables
from bridge.fhir.tables import Element
from bridge.moments import later
from bridge.shapes import Json

MAX_NESTING = 20


class Plan(NamedTuple):
    """How to look at objects of one type."""

    constraints: tuple[Holds, ...]
    fields: dict[str, Element]
    """Those that are or may hold something to look at."""


@cache
def plan(type: str) -> Plan:
    fields = {
        name: element
        for name, element in tables.elements(type).items()
        if element.type in ("Reference", "Period", "Narrative")
        or (tables.is_part(element.type) and _holds_something(element.type))
    }
    return Plan(tuple(holds for _, _, holds in own_constraints(type)), fields)


def _holds_something(type: str, above: frozenset[str] = frozenset()) -> bool:
    if own_constraints(type):
        return True
    return any(
        element.type in ("Reference", "Period", "Narrative")
        or (
            tables.is_part(element.type)
            and element.type not in above
            and _holds_something(element.type, above | {type})
        )
        for element in tables.elements(type).values()
    )


class Seen:
    """What was met in one resource."""

    def __init__(self) -> None:
        self.references: list[tuple[str, Element, Json]] = []
        """Literal reference, where it stands, and the resource around it."""
        self.narratives: list[str] = []

    def look(self, value: Json, element: Element, type: str, resource: Json, depth: int = 0) -> bool:
        """Whether everything holds in an object and below it; False also where it is nested too deep to be sure."""
        made = plan(type)
        if made.constraints:
            node = Node("", type, value, element, resource)
            for holds in made.constraints:
                if not holds(value, node):
                    return False
        fields = made.fields
        for name, inner in value.items():
            found = fields.get(name)
            if found is not None:
                for item in inner if found.many else (inner,):
                    if not self._one(item, found, resource, depth):
                        return False
        return True

    def _one(self, value: Any, element: Element, resource: Json, depth: int) -> bool:
        type = element.type
        if type == "Reference":
            reference = value.get("reference")
            if reference is not None:
                self.references.append((reference, element, resource))
            return True
        if type == "Period":
            return not later(value.get("start", ""), value.get("end", ""))
        if type == "Narrative":
            self.narratives.append(value["div"])
            return True
        return depth < MAX_NESTING and self.look(value, element, type, resource, depth + 1)
