"""B: references inside of collections, search results and transactions.

Source: https://hl7.org/fhir/R4/bundle.html#references: urn:uuid and urn:oid mean something inside of their bundle only.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from bridge.check.links import Index
from bridge.check.look import text
from bridge.check.node import Node
from bridge.issues import Issue, Where, issue

_PARCELS = frozenset({"collection", "searchset", "transaction"})


def check_parcels(data: Any, nodes: list[Node]) -> Iterator[Issue]:
    """Issues of such a bundle; nothing for any other data. Documents have rules of their own (links.py)."""
    type = text(data, "type")
    if text(data, "resourceType") != "Bundle" or type not in _PARCELS:
        return
    index = Index(data)
    for node in nodes:
        reference = text(node.value, "reference") if node.type == "Reference" else ""
        if not reference or reference.startswith("#"):
            continue
        target = index.find(reference, node.resource)
        if target.resource is not None:
            continue
        if reference.lower().startswith("urn:"):
            yield issue("B130", "This reference leads to nothing in the bundle.", Where(path=node.path), cause="B130")
        elif type == "collection" and not target.outside:
            kind = f" {target.type[:60]}" if target.type else ""
            message = f"The{kind} that this leads to is not in the collection."
            yield issue("B131", message, Where(path=node.path), cause=f"B131:{kind}")
