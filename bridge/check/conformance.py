"""Conformance of any R4 resource: a fast gate that says yes, and a careful walk that explains every no."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import chain
from typing import TYPE_CHECKING, Any

from bridge.check.gate import judge
from bridge.check.invariants import check_invariants
from bridge.check.links import check_links
from bridge.check.structure import Walk, whole
from bridge.check.units import check_units
from bridge.enough import MAX_ALIKE, enough
from bridge.issues import Issue

if TYPE_CHECKING:
    from bridge.check.profiles import Asked

_REFUSED = frozenset({"S116", "S117", "S125"})


def check_conformance(data: Any) -> list[Issue]:
    """Everything in which any JSON data departs from R4 itself; never raises for it."""
    verdict = judge(data)
    if verdict.issues is None:
        return careful(data, verdict.certain)
    return verdict.issues if len(verdict.issues) <= MAX_ALIKE else enough(verdict.issues, whole(data))


def check_with_profiles(data: Any, asked: Asked | None = None) -> list[Issue]:
    """The same with all that the profiles ask for that the data claims, or that are asked for."""
    from bridge.check.profiles import check_profiles

    found = check_conformance(data)
    return found if refused(found) else [*found, *check_profiles(data, whole(data).path, asked)]


def careful(data: Any, certain: frozenset[int] = frozenset()) -> list[Issue]:
    """The same by looking at everything but the resources of which the gate is certain.

    Where something is refused for its size or depth, only the faults of shape are told.
    """
    walk = Walk(data, certain)
    if refused(walk.issues):
        return walk.issues
    nodes = walk.nodes
    return enough(chain(walk.issues, check_invariants(nodes), check_links(nodes), check_units(nodes)), whole(data))


def refused(issues: Iterable[Issue]) -> bool:
    """Whether data is too long or too deep to be looked at whole."""
    return any(found.rule in _REFUSED for found in issues)
