"""V: Constraints of the data types; those of amounts stand in amounts.py, those of timings in timing.py."""

from __future__ import annotations

from bridge.check.invariants.registry import invariant
from bridge.check.invariants.values import contained
from bridge.check.look import has, text
from bridge.check.node import Node
from bridge.moments import later
from bridge.shapes import Json


@invariant("V103", "per-1", "Period")
def per_1(node: Json, at: Node) -> bool:
    """Compared only as far as both are known, and where both or neither carry a time."""
    return not later(text(node, "start"), text(node, "end"))


@invariant("V104", "ref-1", "Reference")
def ref_1(node: Json, at: Node) -> bool:
    """`#` alone means the containing resource itself; as published it is the id of nothing. References inside of what
    is contained are answered by the same container, for nothing is contained in them."""
    reference = text(node, "reference")
    return not reference.startswith("#") or reference == "#" or reference[1:] in contained(at.resource)


@invariant("V109", "att-1", "Attachment")
def att_1(node: Json, at: Node) -> bool:
    return not has(node, "data") or has(node, "contentType")


@invariant("V110", "cpt-2", "ContactPoint")
def cpt_2(node: Json, at: Node) -> bool:
    return not has(node, "value") or has(node, "system")


@invariant("V202", "drq-1", "DataRequirement.codeFilter")
@invariant("V202", "drq-2", "DataRequirement.dateFilter")
def drq_1(node: Json, at: Node) -> bool:
    return has(node, "path") != has(node, "searchParam")


@invariant("V203", "exp-1", "Expression")
def exp_1(node: Json, at: Node) -> bool:
    return has(node, "expression", "reference")


@invariant("V204", "trd-1", "TriggerDefinition")
def trd_1(node: Json, at: Node) -> bool:
    return not (has(node, "data") and has(node, "timing[x]"))


@invariant("V205", "trd-2", "TriggerDefinition")
def trd_2(node: Json, at: Node) -> bool:
    return not has(node, "condition") or has(node, "data")


@invariant("V206", "trd-3", "TriggerDefinition")
def trd_3(node: Json, at: Node) -> bool:
    type = text(node, "type")
    needed = {"named-event": "name", "periodic": "timing[x]"}.get(type, "data" if type.startswith("data-") else "")
    return not needed or has(node, needed)
