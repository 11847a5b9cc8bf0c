"""V: Constraints of every resource with narrative."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from bridge.check.invariants.registry import each, invariant
from bridge.check.look import has, numbered, part, text
from bridge.check.node import Node
from bridge.shapes import Json

_IN_TEXT = re.compile(r"""\b(?:href|src)\s*=\s*["'](#[^"']+)["']""")


@each("V120", "dom-2", "DomainResource")
def dom_2(node: Json, at: Node) -> Iterator[str]:
    return (f".contained[{n}]" for n, c in numbered(node, "contained") if has(c, "contained"))


@each("V121", "dom-3", "DomainResource")
def dom_3(node: Json, at: Node) -> Iterator[str]:
    """By its text, for each contained resource; the published expression cannot be evaluated where there are several.

    Anything in the container or in what else it contains that says `#` and the id points: a reference, a canonical, uri
    or url (also in lists and extensions), and a link or an image of the narrative. What is contained may instead point
    to its container, which is `#` alone.
    """
    if "contained" not in node:
        return
    pointed = _pointers(node)
    for number, contained in numbered(node, "contained"):
        id = text(contained, "id")
        if not (id and f"#{id}" in pointed) and "#" not in _pointers(contained):
            yield f".contained[{number}]"


@each("V122", "dom-4, dom-5", "DomainResource")
def dom_4(node: Json, at: Node) -> Iterator[str]:
    for number, contained in numbered(node, "contained"):
        if has(part(contained, "meta"), "versionId", "lastUpdated", "security"):
            yield f".contained[{number}]"


@invariant("V123", "dom-6", "DomainResource")
def dom_6(node: Json, at: Node) -> bool:
    """Contained resources are left out, as the text of their container tells them too."""
    return at.element.name == "contained" or has(part(node, "text"), "div")


def _pointers(node: Json) -> set[str]:
    """Every text that starts with #, without a version, at any depth, and those of links and images in a narrative."""
    found: set[str] = set()
    waiting: list[Any] = [node]
    while waiting:
        value = waiting.pop()
        if isinstance(value, str):
            if value[:1] == "#":
                found.add(value.partition("|")[0])
            elif value[:4] == "<div":
                found.update(_IN_TEXT.findall(value))
        elif isinstance(value, dict):
            waiting += value.values()
        elif isinstance(value, list):
            waiting += value
    return found
