"""V: Constraints of Composition."""

from __future__ import annotations

from bridge.check.invariants.registry import invariant
from bridge.check.look import has
from bridge.check.node import Node
from bridge.shapes import Json


@invariant("V170", "cmp-1", "Composition.section")
def cmp_1(node: Json, at: Node) -> bool:
    return has(node, "text", "entry", "section")


@invariant("V171", "cmp-2", "Composition.section")
def cmp_2(node: Json, at: Node) -> bool:
    return not (has(node, "emptyReason") and has(node, "entry"))
