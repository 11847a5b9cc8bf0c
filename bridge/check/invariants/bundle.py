"""V: Constraints of Bundle and Parameters."""

from __future__ import annotations

from bridge.check.invariants.registry import invariant
from bridge.check.look import has, part, parts, text
from bridge.check.node import Node
from bridge.shapes import Json


@invariant("V180", "bdl-1, bdl-2", "Bundle")
def bdl_1(node: Json, at: Node) -> bool:
    type = node.get("type")
    return (not has(node, "total") or type in ("searchset", "history")) and (
        type == "searchset" or not any(has(e, "search") for e in parts(node, "entry"))
    )


@invariant("V181", "bdl-3", "Bundle")
def bdl_3(node: Json, at: Node) -> bool:
    due = node.get("type") in ("batch", "transaction", "history")
    return all(has(e, "request") == due for e in parts(node, "entry"))


@invariant("V182", "bdl-4", "Bundle")
def bdl_4(node: Json, at: Node) -> bool:
    due = node.get("type") in ("batch-response", "transaction-response", "history")
    return all(has(e, "response") == due for e in parts(node, "entry"))


@invariant("V183", "bdl-5", "Bundle.entry")
def bdl_5(node: Json, at: Node) -> bool:
    return has(node, "resource", "request", "response")


@invariant("V184", "bdl-7", "Bundle")
def bdl_7(node: Json, at: Node) -> bool:
    if node.get("type") == "history":
        return True
    named = [
        (text(e, "fullUrl"), text(part(part(e, "resource"), "meta"), "versionId"))
        for e in parts(node, "entry")
        if text(e, "fullUrl")
    ]
    return len(named) == len(set(named))


@invariant("V185", "bdl-8", "Bundle.entry")
def bdl_8(node: Json, at: Node) -> bool:
    return "/_history/" not in text(node, "fullUrl")


@invariant("V186", "bdl-9", "Bundle")
def bdl_9(node: Json, at: Node) -> bool:
    named = part(node, "identifier")
    return node.get("type") != "document" or (has(named, "system") and has(named, "value"))


@invariant("V187", "bdl-10", "Bundle")
def bdl_10(node: Json, at: Node) -> bool:
    return node.get("type") != "document" or bool(text(node, "timestamp"))


@invariant("V188", "bdl-11, bdl-12", "Bundle")
def bdl_11(node: Json, at: Node) -> bool:
    first = {"document": "Composition", "message": "MessageHeader"}.get(text(node, "type"))
    entries = node.get("entry")
    head = entries[0] if isinstance(entries, list) and entries else {}
    return first is None or text(part(head, "resource"), "resourceType") == first
