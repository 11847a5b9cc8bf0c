"""V: Constraints of quantities and what is made of them."""

from __future__ import annotations

from bridge.check.invariants.registry import invariant
from bridge.check.invariants.values import above, in_ucum, measures_length, measures_time, number
from bridge.check.look import has, part, text
from bridge.check.node import Node
from bridge.check.ucum import UCUM
from bridge.shapes import Json


@invariant("V105", "qty-3", "Quantity")
def qty_3(node: Json, at: Node) -> bool:
    return not has(node, "code") or has(node, "system")


@invariant("V106", "sqty-1", "Quantity")
def sqty_1(node: Json, at: Node) -> bool:
    """Of the profile SimpleQuantity; which elements must be one, stands in their definitions."""
    return at.element.shape != "SimpleQuantity" or not has(node, "comparator")


@invariant("V107", "rng-2", "Range")
def rng_2(node: Json, at: Node) -> bool:
    """Equal ends hold, as in the expression. Judged where the units are the same or common ones that compare; in other
    units the expression is empty, which says nothing against it."""
    return not above(part(node, "low"), part(node, "high"))


@invariant("V108", "rat-1", "Ratio")
def rat_1(node: Json, at: Node) -> bool:
    """A ratio of nothing needs an extension; of one side it never holds, extension or not."""
    both = has(node, "numerator"), has(node, "denominator")
    return both[0] == both[1] and (both[0] or has(node, "extension"))


@invariant("V111", "age-1", "Age")
def age_1(node: Json, at: Node) -> bool:
    """That the unit is one of time is asked by the text alone."""
    value = number(node.get("value"))
    return in_ucum(node) and measures_time(node) and (value is None or value > 0)


@invariant("V200", "cnt-3", "Count")
def cnt_3(node: Json, at: Node) -> bool:
    """A whole number is one that is written without a point: 2.0 says how exactly it was counted."""
    value = number(node.get("value"))
    whole = value is None or (value == value.to_integral_value() and "." not in str(node["value"]))
    return in_ucum(node) and whole and (not has(node, "code") or text(node, "code") == "1")


@invariant("V201", "dis-1", "Distance")
def dis_1(node: Json, at: Node) -> bool:
    """That the unit is one of length is asked by the text alone."""
    return in_ucum(node) and measures_length(node)


@invariant("V112", "drt-1", "Duration")
def drt_1(node: Json, at: Node) -> bool:
    """The expression, and the unit of time and any system being UCUM from its text. A value without a code, of which
    only the text speaks, is V207."""
    if has(node, "code") and not (text(node, "system") == UCUM and has(node, "value") and measures_time(node)):
        return False
    return not has(node, "system") or text(node, "system") == UCUM


@invariant("V207", "drt-1", "Duration")
def drt_1_code(node: Json, at: Node) -> bool:
    """The text asks for a code beside a value, the expression lets it out: told, but not as an error."""
    return has(node, "code") or not has(node, "value")
