"""V: Constraints of Bundle and Parameters."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.check.invariants.registry import each, invariant
from bridge.check.look import has, numbered, part, text
from bridge.check.node import Node
from bridge.shapes import Json


@invariant("V180", "bdl-1", "Bundle")
def bdl_1(node: Json, at: Node) -> bool:
    return not has(node, "total") or node.get("type") in ("searchset", "history")


@each("V180", "bdl-2", "Bundle")
def bdl_2(node: Json, at: Node) -> Iterator[str]:
    if node.get("type") != "searchset":
        yield from (f".entry[{n}]" for n, e in numbered(node, "entry") if has(e, "search"))


@each("V181", "bdl-3", "Bundle")
def bdl_3(node: Json, at: Node) -> Iterator[str]:
    """For each entry. A history shows what was done, so its entries have a request and a response."""
    due = node.get("type") in ("batch", "transaction", "history")
    return (f".entry[{n}]" for n, e in numbered(node, "entry") if has(e, "request") != due)


@each("V182", "bdl-4", "Bundle")
def bdl_4(node: Json, at: Node) -> Iterator[str]:
    """For each entry; a history needs it too, by text and expression, though the pages on history do not ask for it."""
    due = node.get("type") in ("batch-response", "transaction-response", "history")
    return (f".entry[{n}]" for n, e in numbered(node, "entry") if has(e, "response") != due)


@invariant("V183", "bdl-5", "Bundle.entry")
def bdl_5(node: Json, at: Node) -> bool:
    return has(node, "resource", "request", "response")


@each("V184", "bdl-7", "Bundle")
def bdl_7(node: Json, at: Node) -> Iterator[str]:
    """The later ones of entries with one address; an entry without a version differs from one with."""
    if node.get("type") == "history":
        return
    met: set[tuple[str, str]] = set()
    for number, entry in numbered(node, "entry"):
        named = text(entry, "fullUrl"), text(part(part(entry, "resource"), "meta"), "versionId")
        if named in met:
            yield f".entry[{number}]"
        elif named[0]:
            met.add(named)


@invariant("V185", "bdl-8", "Bundle.entry")
def bdl_8(node: Json, at: Node) -> bool:
    """Of an entry without an address the expression is empty, which says nothing against it."""
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
    """A document or message without any entry has no such resource either; the expression is empty there."""
    first = {"document": "Composition", "message": "MessageHeader"}.get(text(node, "type"))
    entries = node.get("entry")
    head = entries[0] if isinstance(entries, list) and entries else {}
    return first is None or text(part(head, "resource"), "resourceType") == first


@invariant("V243", "inv-1", "Parameters.parameter")
def inv_1(node: Json, at: Node) -> bool:
    return [has(node, "value[x]"), has(node, "resource"), has(node, "part")].count(True) == 1
