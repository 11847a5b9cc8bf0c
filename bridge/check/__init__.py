"""The room of checks: what is wrong with a bundle, and what is doubtful in a visit. Nothing is changed here."""

from __future__ import annotations

from typing import Any

from bridge.check.referral import check_referral
from bridge.check.visit import check_visit
from bridge.issues import Issue, rules

__all__ = ["check_bundle", "check_referral", "check_visit"]

_ORDER = "SVBTC"
"""Families from the one that explains others to the one that stands alone."""


def check_bundle(bundle: Any) -> list[Issue]:
    """Everything found in a Bundle or a single resource: conformance first, then trade, worst first.

    Takes any JSON data at all and never raises for it. `rules()[issue.rule].trade` tells checks of the
    trade (sides, identifiers) from conformance to the standard.
    """
    from bridge.check.document import check_document
    from bridge.check.identifiers import check_identifiers
    from bridge.check.invariants import check_invariants
    from bridge.check.links import check_links
    from bridge.check.not_for_writing import check_not_for_writing
    from bridge.check.parcels import check_parcels
    from bridge.check.sides import check_sides
    from bridge.check.structure import Walk

    walk = Walk(bundle)
    outermost = [(n.path, n.value) for n in walk.nodes if n.value is n.resource]
    found = [
        *walk.issues,
        *check_invariants(walk.nodes),
        *check_links(bundle, walk.nodes),
        *check_document(bundle, walk.nodes),
        *check_parcels(bundle, walk.nodes),
        *check_sides(outermost, bundle),
        *check_identifiers(walk.nodes),
        *check_not_for_writing(walk.nodes),
    ]
    if not found:
        return []
    pages = rules()
    return sorted(found, key=lambda i: (pages[i.rule].trade, -i.severity, _ORDER.index(i.rule[0])))
