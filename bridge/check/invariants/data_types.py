"""V: Constraints of the data types."""

from __future__ import annotations

from bridge.check.invariants.registry import invariant
from bridge.check.invariants.values import UCUM, in_ucum, number
from bridge.check.look import has, part, parts, text
from bridge.check.node import Node
from bridge.moments import later
from bridge.shapes import Json


@invariant("V103", "per-1", "Period")
def per_1(node: Json, at: Node) -> bool:
    """Compared only as far as both are known, and where both or neither carry a time."""
    return not later(text(node, "start"), text(node, "end"))


@invariant("V104", "ref-1", "Reference")
def ref_1(node: Json, at: Node) -> bool:
    """`#` alone means the containing resource itself."""
    reference = text(node, "reference")
    return (
        not reference.startswith("#")
        or reference == "#"
        or reference[1:] in {text(c, "id") for c in parts(at.resource, "contained")}
    )


@invariant("V105", "qty-3", "Quantity")
def qty_3(node: Json, at: Node) -> bool:
    return not has(node, "code") or has(node, "system")


@invariant("V106", "sqty-1", "Quantity")
def sqty_1(node: Json, at: Node) -> bool:
    return at.element.shape != "SimpleQuantity" or not has(node, "comparator")


@invariant("V107", "rng-2", "Range")
def rng_2(node: Json, at: Node) -> bool:
    """Compared only in one unit."""
    low, high = part(node, "low"), part(node, "high")
    first, last = number(low.get("value")), number(high.get("value"))
    if (low.get("code"), low.get("unit")) != (high.get("code"), high.get("unit")):
        return True
    return first is None or last is None or first <= last


@invariant("V108", "rat-1", "Ratio")
def rat_1(node: Json, at: Node) -> bool:
    both = has(node, "numerator"), has(node, "denominator")
    return both[0] == both[1] and (both[0] or has(node, "extension"))


@invariant("V109", "att-1", "Attachment")
def att_1(node: Json, at: Node) -> bool:
    return not has(node, "data") or has(node, "contentType")


@invariant("V110", "cpt-2", "ContactPoint")
def cpt_2(node: Json, at: Node) -> bool:
    return not has(node, "value") or has(node, "system")


@invariant("V111", "age-1", "Age")
def age_1(node: Json, at: Node) -> bool:
    value = number(node.get("value"))
    return in_ucum(node) and (value is None or value > 0)


@invariant("V112", "drt-1", "Duration")
def drt_1(node: Json, at: Node) -> bool:
    return not has(node, "code") or (text(node, "system") == UCUM and has(node, "value"))


@invariant("V113", "tim-1, tim-2, tim-6, tim-7, tim-8", "Timing.repeat")
def tim_pairs(node: Json, at: Node) -> bool:
    pairs = (("duration", "durationUnit"), ("period", "periodUnit"), ("periodMax", "period"),
             ("durationMax", "duration"), ("countMax", "count"))  # fmt: skip
    return all(not has(node, one) or has(node, other) for one, other in pairs)


@invariant("V114", "tim-4, tim-5", "Timing.repeat")
def tim_signs(node: Json, at: Node) -> bool:
    return not any(v is not None and v < 0 for v in (number(node.get("duration")), number(node.get("period"))))


@invariant("V115", "tim-9, tim-10", "Timing.repeat")
def tim_when(node: Json, at: Node) -> bool:
    """tim-9 by its text: an offset needs a `when` that is not a meal itself."""
    when = node.get("when") if isinstance(node.get("when"), list) else []
    meals = any(w in ("C", "CM", "CD", "CV") for w in when or () if isinstance(w, str))
    return not (has(node, "offset") and (not when or meals)) and not (has(node, "timeOfDay") and has(node, "when"))
