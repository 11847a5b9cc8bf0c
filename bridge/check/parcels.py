"""B: references inside of bundles that are no documents: collections, search results, transactions and the like.

Source: https://hl7.org/fhir/R4/bundle.html#references: urn:uuid and urn:oid mean something inside of their bundle only.
"""

from __future__ import annotations

from bridge.check.bundle_scopes import Scope
from bridge.check.node import Node
from bridge.check.references import Target
from bridge.issues import Issue, Where, issue


def not_in_parcel(node: Node, reference: str, target: Target, scope: Scope) -> list[Issue]:
    """What is wrong with a reference that nothing in the bundle answers. Documents have rules of their own."""
    where = Where(path=node.path)
    if reference[:4].lower() == "urn:":
        return [issue("B130", "This reference leads to nothing in the bundle.", where, cause="B130")]
    if scope.type == "collection" and not target.outside:
        kind = f" {target.type[:60]}" if target.type else ""
        message = f"The{kind} that this leads to is not in the collection."
        return [issue("B131", message, where, cause=f"B131:{kind}")]
    return []
