"""V: Constraints of every element and of extensions."""

from __future__ import annotations

from bridge.check.invariants.registry import invariant
from bridge.check.look import has
from bridge.check.node import Node
from bridge.shapes import Json


@invariant("V101", "ele-1", "Element")
def ele_1(node: Json, at: Node) -> bool:
    """Empty objects are S107; this is the object with nothing but an id."""
    return node.keys() != {"id"}


@invariant("V102", "ext-1", "Extension")
def ext_1(node: Json, at: Node) -> bool:
    return has(node, "extension") != has(node, "value[x]")
