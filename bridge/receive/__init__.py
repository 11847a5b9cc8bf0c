"""The way back: bundles into visits. It reads what `build/` writes, and says plainly what it cannot read."""

from __future__ import annotations

from typing import Any

from bridge.issues import Issue, Where, issue
from bridge.receive.index import Index
from bridge.receive.refused import left_over, states
from bridge.receive.visits import read_visit
from bridge.visit import Visit

__all__ = ["bundle_to_visits"]


def bundle_to_visits(bundle: dict[str, Any]) -> tuple[list[Visit], list[Issue]]:
    """The visits of a document bundle that visit-bridge wrote; an X issue for any other bundle.

    X103 names what is in a state that we never write, X104 what has no place in a visit: nothing is lost silently.
    The bundle should have passed `check_bundle` first; one that has not is refused here, never half read.
    """
    if bundle.get("resourceType") != "Bundle" or bundle.get("type") != "document":
        return [], [issue("X101", "This is not a document bundle.", Where(path="Bundle.type"))]
    try:
        index = Index(bundle)
        visit = read_visit(index)
        issues = [*states(bundle), *left_over(index)]
        return ([] if issues else [visit]), issues
    except (AssertionError, AttributeError, IndexError, KeyError, StopIteration, TypeError, ValueError) as problem:
        kind = type(problem).__name__
        return [], [issue("X102", f"This document cannot be read back as a visit ({kind}).", Where(path="Bundle"))]
