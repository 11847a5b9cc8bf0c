"""V: Constraints of every resource with narrative."""

from __future__ import annotations

from bridge.check.invariants.registry import invariant
from bridge.check.look import has, inside, part, parts, text
from bridge.check.node import Node
from bridge.shapes import Json


@invariant("V120", "dom-2", "DomainResource")
def dom_2(node: Json, at: Node) -> bool:
    return not any(has(c, "contained") for c in parts(node, "contained"))


@invariant("V121", "dom-3", "DomainResource")
def dom_3(node: Json, at: Node) -> bool:
    """By its text, for each contained resource; the published expression fails on more than one."""
    contained = parts(node, "contained")
    if not contained:
        return True
    pointed = {v for inner in inside(node) for v in inner.values() if isinstance(v, str) and v.startswith("#")}
    return all(
        f"#{text(c, 'id')}" in pointed or any(text(inner, "reference") == "#" for inner in inside(c)) for c in contained
    )


@invariant("V122", "dom-4, dom-5", "DomainResource")
def dom_4(node: Json, at: Node) -> bool:
    return not any(has(part(c, "meta"), "versionId", "lastUpdated", "security") for c in parts(node, "contained"))


@invariant("V123", "dom-6", "DomainResource")
def dom_6(node: Json, at: Node) -> bool:
    """Contained resources are left out, as the text of their container tells them too."""
    return at.element.name == "contained" or has(part(node, "text"), "div")
