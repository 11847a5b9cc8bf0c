"""What the reader of XML holds of each element that is open, and where its data goes."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any, Final

from bridge.fhir import tables
from bridge.fhir.tables import Element
from bridge.shapes import Json

OBJECT: Final = 0
"""A resource, or a value with elements in it."""
HOLDER: Final = 1
"""An element that holds a resource: `contained`, `Bundle.entry.resource`."""
SIMPLE: Final = 2
"""A simple value: its attribute, and beside it an id and extensions."""
PASSED: Final = 3
"""Something that is passed over with all that is in it."""


class Frame:
    """An element that is open."""

    __slots__ = ("at", "found", "given", "holes", "kind", "last", "owner", "path", "type", "value", "worded")

    def __init__(self, kind: int, type: str, value: Json, path: str, at: int) -> None:
        self.kind = kind
        self.type = type
        self.value = value
        """Its elements; of a simple value what goes beside it (`_birthDate`)."""
        self.path = path
        self.at = at
        """The number of its start tag in the file."""
        self.owner: Json | None = None
        """The object it goes into, where it does so when it is closed."""
        self.found: Element | None = None
        """The property it is; None for the outermost resource."""
        self.given: Any = None
        """The value of its attribute; of a holder, whether a resource was met."""
        self.last = ""
        """The name of the element before, to see whether they are in order."""
        self.holes: list[str] = []
        """Lists in which an entry has extensions and no value."""
        self.worded = False
        """Whether text between its elements was told of."""


@cache
def order(type: str) -> Mapping[str, int]:
    """The place of each element among those of its type; the forms of a choice share one."""
    places: dict[str, int] = {}
    return {name: places.setdefault(found.choice or name, len(places)) for name, found in tables.elements(type).items()}


def count(owner: Json, found: Element) -> int:
    """How often an element was met in an object."""
    value = owner.get(found.name)
    if isinstance(value, list):
        return len(value)
    return int(value is not None or f"_{found.name}" in owner)


def attach(owner: Json, found: Element, value: Any) -> None:
    """Puts a value where it goes; one that may stand only once becomes a list with the second."""
    key = found.name
    if found.many:
        owner.setdefault(key, []).append(value)
    elif isinstance(rows := owner.get(key), list):
        rows.append(value)
    elif key in owner:
        owner[key] = [owner[key], value]
    else:
        owner[key] = value


def detach(owner: Json, found: Element) -> None:
    """Takes back the value put last."""
    rows = owner[found.name]
    if not isinstance(rows, list) or len(rows) == 1:
        del owner[found.name]
    elif not found.many and len(rows) == 2:
        owner[found.name] = rows[0]
    else:
        rows.pop()


def attach_simple(frame: Frame, owner: Frame) -> None:
    """Puts a simple value and what stands beside it where they go, in lists one under the other."""
    found, value, beside = frame.found, frame.given, frame.value
    assert found
    if not found.many:
        if value is not None:
            attach(owner.value, found, value)
        if beside:
            owner.value.setdefault(f"_{found.name}", beside)
        return
    rows = owner.value.setdefault(found.name, [])
    rows.append(value)
    if value is None:
        owner.holes.append(found.name)
    row = owner.value.get(f"_{found.name}")
    if row is not None:
        row.append(beside or None)
    elif beside:
        owner.value[f"_{found.name}"] = [None] * (len(rows) - 1) + [beside]


def close_lists(frame: Frame) -> None:
    """Leaves out lists in which no entry has a value, only what stands beside it."""
    for key in set(frame.holes):
        if all(value is None for value in frame.value[key]):
            del frame.value[key]
