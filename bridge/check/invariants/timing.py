"""V: Constraints of timings."""

from __future__ import annotations

from bridge.check.invariants.registry import invariant
from bridge.check.invariants.values import number
from bridge.check.look import has
from bridge.check.node import Node
from bridge.shapes import Json

_PAIRS = (
    ("duration", "durationUnit"),
    ("period", "periodUnit"),
    ("periodMax", "period"),
    ("durationMax", "duration"),
    ("countMax", "count"),
)
_MEALS = ("C", "CM", "CD", "CV")


@invariant("V113", "tim-1, tim-2, tim-6, tim-7, tim-8", "Timing.repeat")
def tim_pairs(node: Json, at: Node) -> bool:
    return all(not has(node, one) or has(node, other) for one, other in _PAIRS)


@invariant("V114", "tim-4, tim-5", "Timing.repeat")
def tim_signs(node: Json, at: Node) -> bool:
    return not any(v is not None and v < 0 for v in (number(node.get("duration")), number(node.get("period"))))


@invariant("V115", "tim-9, tim-10", "Timing.repeat")
def tim_when(node: Json, at: Node) -> bool:
    """tim-9 by its text: an offset needs a `when`, and none of them is a meal itself; as published it fails on two."""
    when = node.get("when") if isinstance(node.get("when"), list) else []
    meal = any(isinstance(w, str) and w in _MEALS for w in when or ())
    return not (has(node, "offset") and (not has(node, "when") or meal)) and not (
        has(node, "timeOfDay") and has(node, "when")
    )
