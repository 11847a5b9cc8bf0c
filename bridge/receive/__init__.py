"""The way back: bundles into visits. It reads what `build/` writes, and says plainly what it cannot read."""

from __future__ import annotations

from typing import Any

from bridge.issues import Issue, Where, issue
from bridge.receive.apart import Addresses, visits_apart
from bridge.receive.index import Index
from bridge.receive.refused import about_others, left_over, states
from bridge.receive.visits import read_visit
from bridge.visit import Visit

__all__ = ["bundle_to_visits"]

READ = ("document", "collection", "searchset", "transaction")
"""Types of bundle that may hold whole visits."""


def bundle_to_visits(bundle: dict[str, Any]) -> tuple[list[Visit], list[Issue]]:
    """The visits of a bundle that visit-bridge wrote, or that a server gave back; an X issue for any other bundle.

    X103 names what is in a state that we never write, X104 what has no place in a visit, X110 what is
    about somebody else: nothing is lost silently.
    The bundle should have passed `check_bundle` first; one that has not is refused here, never half read.
    """
    if bundle.get("resourceType") != "Bundle" or bundle.get("type") not in READ:
        return [], [issue("X101", "This is no bundle that a visit could be in.", Where(path="Bundle.type"))]
    try:
        addresses = Addresses(bundle)
        if not addresses.resources:
            return [], [issue("X101", "There is nothing in this bundle.", Where(path="Bundle.entry"))]
        visits, used, strangers = list[Visit](), set[int](), list[Issue]()
        for resources in visits_apart(bundle, addresses):
            index = Index(bundle, addresses, resources)
            visits.append(read_visit(index))
            strangers += about_others(index)
            used |= index.used
        issues = [*states(bundle), *strangers, *left_over(bundle, used)]
        return ([] if issues else visits), issues
    except (AssertionError, AttributeError, IndexError, KeyError, StopIteration, TypeError, ValueError) as problem:
        kind = type(problem).__name__
        return [], [issue("X102", f"This bundle cannot be read back as a visit ({kind}).", Where(path="Bundle"))]
