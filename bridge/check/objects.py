"""Every object with its type, found without judging anything: what the checks of the trade look through."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from bridge.check.node import MAX_DEPTH, OUTERMOST, Node
from bridge.fhir import tables
from bridge.fhir.tables import Element
from bridge.shapes import Json


def objects(data: Any) -> Iterator[Node]:
    """Nodes of a resource in the order of the data; what has no known type is passed over."""
    if _type(data):
        yield from _objects(data, _type(data), _type(data), OUTERMOST, data, 0)


def _type(value: Any) -> str:
    type = value.get("resourceType") if isinstance(value, dict) else None
    return type if isinstance(type, str) and tables.is_resource(type) else ""


def _objects(value: Json, type: str, path: str, element: Element, owner: Json, depth: int) -> Iterator[Node]:
    yield Node(path, type, value, element, owner)
    known = tables.elements(type)
    for key, inner in value.items():
        found = known.get(key)
        if found is None or found.primitive or depth > MAX_DEPTH:
            continue
        for index, item in enumerate(inner) if isinstance(inner, list) else ((-1, inner),):
            kind = _type(item) if found.type == tables.RESOURCE else found.type
            if isinstance(item, dict) and kind:
                place = f"{path}.{key}" if index < 0 else f"{path}.{key}[{index}]"
                around = item if found.type == tables.RESOURCE and key != "contained" else owner
                yield from _objects(item, kind, place, found, around, depth + 1)
