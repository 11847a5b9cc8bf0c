"""One element of a compiled profile, ready to be held against data."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from bridge.fhir import tables
from bridge.fhir.tables import Element
from bridge.shapes import Json

Item = tuple[Any, str, str, Any]
"""A value met: the value, its type, its path, and what stands beside a simple value (`_birthDate`)."""
Place = tuple[str, str, bool, bool]
"""How JSON spells an element: key, type, whether it is simple, whether it is a list."""

Plain = tuple["Part", frozenset[str], bool]
"""A part, the keys that would fill it, and whether it must be there."""


class Part:
    """An element of a profile: what it asks for, its own elements and its slices."""

    __slots__ = (
        "_places",
        "_plain",
        "_ways",
        "above",
        "active",
        "asking",
        "binding",
        "constraints",
        "counted",
        "declared",
        "dividing",
        "fewer",
        "fixed",
        "id",
        "least",
        "length",
        "like",
        "marks",
        "matchers",
        "max",
        "min",
        "most",
        "must",
        "name",
        "only_counts",
        "parts",
        "pattern",
        "presort",
        "profile",
        "slice",
        "slices",
        "slicing",
        "types",
        "wanting",
    )

    def __init__(self, node: Json, profile: str, above: Part | None = None) -> None:
        self.profile = profile
        self.above = above
        self.name: str = node["name"]
        self.id: str = str(node["id"])
        self.slice: str = node.get("slice", "")
        self.min: int = node.get("min", 0)
        self.max: int | None = node.get("max")
        self.types: dict[str, Json] | None = node.get("types")
        self.declared: dict[str, Json] = self.types or {}
        """The types as the profile has them, also where nothing in them is left to look at."""
        self.fewer: bool = node.get("fewer", False)
        self.fixed: list[Any] | None = node.get("fixed")
        self.pattern: list[Any] | None = node.get("pattern")
        self.least: list[Any] | None = node.get("least")
        self.most: list[Any] | None = node.get("most")
        self.length: int | None = node.get("length")
        self.binding: list[list[str]] = node.get("binding", [])
        self.constraints: list[list[str]] = node.get("constraints", [])
        self.must: bool = node.get("must", False)
        self.slicing: Json | None = node.get("slicing")
        self.slices = [Part(inner, profile, self) for inner in node.get("slices", ())]
        self.parts = [Part(inner, profile, self) for inner in node.get("parts", ())]
        self.like: str = node.get("like", "")
        self.matchers: Any = None
        self.marks: Any = None
        self.presort: Any = None
        self._places: dict[str, tuple[Place, ...]] = {}
        self._plain: dict[str, tuple[Plain, ...]] = {}
        self._ways: dict[str, tuple[Plain, ...]] = {}
        self.active = True
        """Whether anything here can be found wrong; else it only says what is must-support, or names slices."""
        self.asking: list[Part] = self.parts
        """The parts that are active, without those that are only counted."""
        self.counted: list[Part] = []
        """Of them those that must be here, or must not, and are not looked into."""
        self.only_counts = False
        self.dividing = self.slicing is not None
        """Whether it matters which slice a value is in."""
        self.wanting = any(one.min for one in self.slices)
        """Whether there must be something in a slice."""

    def settle(self, idle: Callable[[str], bool]) -> bool:
        """Finds out what is active, deepest first. `idle`: whether a profile of a data type asks for nothing that is
        looked at anyway."""
        self.asking = [part for part in self.parts if part.settle(idle)]
        self.counted = [part for part in self.asking if part.only_counts]
        self.asking = [part for part in self.asking if not part.only_counts]
        divided = any([one.settle(idle) for one in self.slices])  # noqa: C419 - each has to settle
        self.dividing = self.slicing is not None and (divided or self.slicing["rules"] != "open")
        if self.types is not None and not self.fewer and all(_idle(facts, idle) for facts in self.types.values()):
            self.types = None
        own = (
            self.min, self.max is not None, self.types, self.fixed, self.pattern, self.least, self.most, self.length,
            self.binding, self.constraints, self.like,
        )  # fmt: skip
        self.active = bool(any(own) or self.dividing or self.asking or self.counted)
        one = (self.min, self.max) in ((1, None), (0, 0))
        self.only_counts = one and not (any(own[2:]) or self.dividing or self.asking or self.counted)
        return self.active

    def miscounted(self, owner: Json, type: str) -> list[Part]:
        """Those of the parts that are only counted of which there are too few or too many: mostly none."""
        plain = self._plain.get(type)
        if plain is None:
            plain = self._plain[type] = tuple(_plain(part, type) for part in self.counted)
        return [part for part, keys, needed in plain if keys and keys.isdisjoint(owner) is needed]

    def to_look_at(self, owner: Json, type: str) -> list[Part]:
        """Those of the parts that ask of which there is anything here, or must be."""
        ways = self._ways.get(type)
        if ways is None:
            ways = self._ways[type] = tuple(_way(part, type) for part in self.asking)
        return [part for part, keys, always in ways if always or not keys.isdisjoint(owner)]

    def places(self, type: str) -> tuple[Place, ...]:
        """Where JSON keeps this element in an object of the type; empty where the type has no such element."""
        found = self._places.get(type)
        if found is None:
            found = self._places[type] = places(type, self.name)
        return found

    def part(self, name: str) -> Part | None:
        """The element of that name right under this one."""
        return next((p for p in self.parts if p.name == name or p.name == f"{name}[x]"), None)


def _plain(part: Part, type: str) -> Plain:
    keys = frozenset(key for place in part.places(type) for key in (place[0], f"_{place[0]}"))
    return part, keys, part.min > 0


def _way(part: Part, type: str) -> Plain:
    return part, _plain(part, type)[1], part.min > 0 or part.wanting


def _idle(facts: Json, idle: Callable[[str], bool]) -> bool:
    return "targets" not in facts and "modes" not in facts and all(map(idle, facts.get("profiles", ())))


def places(type: str, name: str) -> tuple[Place, ...]:
    """Where JSON keeps an element (`status`, `value[x]`) in an object of a type."""
    known = tables.elements("Element" if tables.is_primitive(type) else type)
    if name.endswith("[x]"):
        found: list[Element] = [element for element in known.values() if element.choice == name]
    else:
        found = [known[name]] if name in known else []
    return tuple((e.name, e.type, e.primitive, e.many) for e in found)


def items(owner: Any, places: tuple[Place, ...], path: str) -> list[Item]:
    """The values of an element in an object, in the order of the data; what is no value of its type is left out."""
    found: list[Item] = []
    for key, type, primitive, many in places:
        value = owner.get(key)
        beside = owner.get(f"_{key}") if primitive else None
        if value is None and beside is None:
            continue
        if not many:
            found.append(_item(value, type, f"{path}.{key}", beside))
            continue
        values = value if isinstance(value, list) else []
        besides = beside if isinstance(beside, list) else []
        for index in range(max(len(values), len(besides))):
            one = values[index] if index < len(values) else None
            other = besides[index] if index < len(besides) else None
            if one is not None or other is not None:
                found.append(_item(one, type, f"{path}.{key}[{index}]", other))
    return found


def _item(value: Any, type: str, path: str, beside: Any) -> Item:
    if type == tables.RESOURCE and isinstance(value, dict):
        told = value.get("resourceType")
        type = told if isinstance(told, str) and tables.is_resource(told) else type
    return value, type, path, beside
