"""V: Constraints of every element and of extensions."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.check.invariants.registry import each, invariant
from bridge.check.look import has
from bridge.check.node import Node
from bridge.fhir import tables
from bridge.shapes import Json


@each("V101", "ele-1", "Element", "Resource")
def ele_1(node: Json, at: Node) -> Iterator[str]:
    """Empty objects are S107; this is what has nothing but an id.

    What stands beside a simple value (`_birthDate`) is part of that value, so it is judged where both can be seen:
    with a value it may be an id alone.
    """
    if at.type != "Element" and node.keys() == {"id"}:
        yield ""
    for key in [key for key in node if isinstance(key, str) and key[:1] == "_"]:
        beside, value = node[key], tables.elements(at.type).get(key[1:])
        if value is None or not value.primitive:
            continue
        if isinstance(beside, dict):
            if beside.keys() == {"id"} and node.get(key[1:]) is None:
                yield f".{key}"
        elif isinstance(beside, list):
            values = node.get(key[1:])
            values = values if isinstance(values, list) else []
            for index, one in enumerate(beside):
                alone = index >= len(values) or values[index] is None
                if isinstance(one, dict) and one.keys() == {"id"} and alone:
                    yield f".{key}[{index}]"


@invariant("V102", "ext-1", "Extension")
def ext_1(node: Json, at: Node) -> bool:
    return has(node, "extension") != has(node, "value[x]")
