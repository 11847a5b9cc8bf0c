"""Conformance of any R4 resource: a fast gate that says yes, and a careful walk that explains every no."""

from __future__ import annotations

from typing import Any

from bridge.check.gate import judge
from bridge.check.invariants import check_invariants
from bridge.check.links import check_links
from bridge.check.structure import Walk
from bridge.check.units import check_units
from bridge.issues import Issue


def check_conformance(data: Any) -> list[Issue]:
    """Everything in which any JSON data departs from R4; never raises for it."""
    verdict = judge(data)
    return careful(data, verdict.certain) if verdict.issues is None else verdict.issues


def careful(data: Any, certain: frozenset[int] = frozenset()) -> list[Issue]:
    """The same by looking at everything but the resources of which the gate is certain."""
    walk = Walk(data, certain)
    return [
        *walk.issues,
        *check_invariants(walk.nodes),
        *check_links(walk.nodes),
        *check_units(walk.nodes),
    ]
