"""V: Constraints of quality measures and their reports."""

from __future__ import annotations

from bridge.check.invariants.registry import invariant
from bridge.check.look import has, parts, text
from bridge.check.node import Node
from bridge.shapes import Json


@invariant("V390", "mea-1", "Measure")
def mea_1(node: Json, at: Node) -> bool:
    stratifiers = (s for group in parts(node, "group") for s in parts(group, "stratifier"))
    return all(has(s, "code", "description", "criteria") != has(s, "component") for s in stratifiers)


@invariant("V391", "mrp-1", "MeasureReport")
def mrp_1(node: Json, at: Node) -> bool:
    return text(node, "type") != "data-collection" or not has(node, "group")


@invariant("V392", "mrp-2", "MeasureReport")
def mrp_2(node: Json, at: Node) -> bool:
    stratifiers = (s for group in parts(node, "group") for s in parts(group, "stratifier"))
    return all(has(one, "value") != has(one, "component") for s in stratifiers for one in parts(s, "stratum"))
