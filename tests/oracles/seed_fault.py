"""A seeded fault: one thing broken in data that was right, and where that has to be told."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any, NamedTuple

from tests.oracles.seed_definitions import DROP, Fact, Json, Keys, Spot, edited, inner, primitives, spell, spots

CLASSES = {
    1: "missing required",
    2: "cardinality",
    3: "required binding",
    4: "reference type",
    5: "form of simple values",
    6: "unknown element",
    7: "choice clash",
    8: "resource invariants",
    9: "data type invariants",
    10: "quantity and UCUM",
    11: "document bundle",
    12: "transaction bundle",
    13: "narrative",
    14: "JSON types",
}


class Fault(NamedTuple):
    number: int
    """Class, as in CLASSES."""
    kind: str
    of: str
    """The element that was broken, as the standard names it: few of one kind and element are enough."""
    places: frozenset[str]
    """Where an issue must stand: one of these paths."""
    make: Callable[[], Any]
    """The broken data; bytes where the fault is in the writing."""
    severity: int = 2
    """At least this bad (2 is an error)."""


def fault(
    number: int, kind: str, of: str, data: Json, keys: Keys, new: Any, *more: str, at: Keys | None = None
) -> Fault:
    """The value at `keys` replaced by `new`, to be told at `at` (or right there), or at one of the paths `more`."""
    place = spell(data, keys if at is None else at)
    return Fault(number, kind, of, frozenset((place, *more)), lambda: edited(data, keys, new))


class Found(NamedTuple):
    """A property with what seeders ask of it."""

    spot: Spot
    data: Json

    @property
    def keys(self) -> Keys:
        return self.spot.keys

    @property
    def fact(self) -> Fact:
        return self.spot.fact

    @property
    def simple(self) -> bool:
        return self.spot.type in primitives()

    @property
    def parent(self) -> Keys:
        return self.spot.keys[:-1]

    @property
    def parent_path(self) -> str:
        return spell(self.data, self.parent)

    @property
    def around(self) -> str:
        """What holds it: a resource, a part of one, or a data type."""
        if self.spot.owner == "Extension":
            return "an extension"
        if "." in self.spot.owner:
            return "a part"
        return "a resource" if self.spot.owner[0].isupper() and "resourceType" in self.holder else "a data type"

    @property
    def holder(self) -> Json:
        node: Any = self.data
        for key in self.parent:
            node = node[key]
        return dict(node)

    @property
    def items(self) -> list[tuple[Keys, Any]]:
        """Each value with its place."""
        if isinstance(self.spot.value, list):
            return [((*self.keys, n), v) for n, v in enumerate(self.spot.value) if v is not None]
        return [(self.keys, self.spot.value)]

    def fault(self, number: int, kind: str, keys: Keys, new: Any, *more: str, at: Keys | None = None) -> Fault:
        return fault(number, kind, self.fact.path, self.data, keys, new, *more, at=at)


def found(data: Json) -> Iterator[Found]:
    for spot in spots(data, data["resourceType"]):
        yield Found(spot, data)


def objects(data: Json) -> Iterator[tuple[Keys, str, Json]]:
    """Every object with its place and where its elements are defined, the outermost first."""
    yield (), data["resourceType"], data
    for each in found(data):
        for keys, value in each.items:
            where = inner(each.fact, each.spot.type, value)
            if isinstance(value, dict) and where:
                yield keys, where, value


__all__ = ["CLASSES", "DROP", "Fault", "Found", "fault", "found", "objects"]
