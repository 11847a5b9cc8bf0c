"""On what an extension stands: the element, its type by the tables, and every name that definitions may call it by."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any, NamedTuple

from bridge.check.node import Node
from bridge.fhir import tables
from bridge.shapes import Json

MAX_STEPS = 12
"""Elements up from an extension whose names are put together; what stands deeper goes by the names of inner ones."""
_INDEX = re.compile(r"\[(\d+)\]$")


class Place(NamedTuple):
    """The element that holds an extension."""

    type: str
    value: Any
    """For a simple value that itself, which may be None; its object stands in `beside`."""
    beside: Json | None
    names: frozenset[str]
    """`Patient.address`, `Address`, `Observation.component.value[x]`, `Quantity`, `Element` ..."""
    named: str
    """One of these names, for messages."""
    holder: str
    """`extension` or `modifierExtension`."""
    within: frozenset[str]
    """The addresses of the extensions around, if the element is one or stands in one."""
    resource: Any
    resource_type: str

    @property
    def modifies(self) -> bool:
        return self.holder == "modifierExtension"


class Places:
    """The places of extensions among the nodes of one walk."""

    def __init__(self, nodes: Iterable[Node], left: list[int] | None = None) -> None:
        """`left`: how many items expressions about these places may still look at, where that is bounded."""
        self.left = left
        self.by_path = {node.path: node for node in nodes}

    def of(self, extension: Node) -> Place | None:
        """Where an extension stands; None where nothing was met there."""
        way = self._way(extension)
        if not way:
            return None
        path, node = way[0]
        type, value, beside = self._seen(node, way)
        names, named = self._names(way)
        around = [n for _, n in way if n.type == "Extension"]
        within = frozenset(str(n.value.get("url")) for n in around if isinstance(n.value.get("url"), str))
        owner = next((n for _, n in way if tables.is_resource(n.type)), None)
        resource = owner.value if owner else extension.resource
        resource_type = owner.type if owner else tables.RESOURCE
        holder = "modifierExtension" if ".modifierExtension[" in extension.path[len(path) :] else "extension"
        return Place(type, value, beside, names, named, holder, within, resource, resource_type)

    def resolve(self, reference: str, resource: Any) -> Json | None:
        """What a fragment leads to in the resource or the one around it; nothing else is followed."""
        if not reference.startswith("#"):
            return None
        rows = resource.get("contained") if isinstance(resource, dict) else None
        for row in rows if isinstance(rows, list) else ():
            if isinstance(row, dict) and row.get("id") == reference[1:]:
                return row
        return None

    def _way(self, node: Node) -> list[tuple[str, Node]]:
        """The elements around a node, nearest first, up to its resource; of many the nearest ones and that."""
        way: list[tuple[str, Node]] = []
        path = node.path
        while "." in path:
            path = path.rpartition(".")[0]
            found = self.by_path.get(path)
            if found is None:
                continue
            way.append((path, found))
            if tables.is_resource(found.type):
                break
        return way

    def _seen(self, node: Node, way: list[tuple[str, Node]]) -> tuple[str, Any, Json | None]:
        """Type, value and what stands beside it; `_birthDate` is the beside of a date."""
        name = _last(way[0][0])
        if node.type != "Element" or not name.startswith("_") or len(way) < 2:
            return node.type, node.value, None
        owner = way[1][1]
        element = tables.elements(owner.type).get(name[1:])
        value = owner.value.get(name[1:])
        at = _INDEX.search(way[0][0])
        if at is not None:
            value = value[int(at[1])] if isinstance(value, list) and int(at[1]) < len(value) else None
        return element.type if element else "Element", value, node.value

    def _names(self, way: list[tuple[str, Node]]) -> tuple[frozenset[str], str]:
        """Every name of the nearest element, and the one that says most."""
        names: set[str] = set()
        named = ""
        for n, (path, node) in reversed([*enumerate(way)][:MAX_STEPS]):
            inner = way[n:]
            type = self._seen(node, inner)[0]
            step = _last(path).removeprefix("_")
            if not names or tables.is_resource(node.type):
                names, named = set(), type
            else:
                owner = inner[1][1].type if len(inner) > 1 else ""
                element = tables.elements(owner).get(step)
                choice = element.choice if element else ""
                spelt = [step, choice, choice[:-3]] if choice else [step]
                names = {f"{name}.{one}" for name in names for one in spelt}
                named = f"{named}.{choice or step}"
            names |= set(tables.lineage(type))
            if "." in type:
                named = type
        return frozenset(names), named


def _last(path: str) -> str:
    return _INDEX.sub("", path.rpartition(".")[2])
