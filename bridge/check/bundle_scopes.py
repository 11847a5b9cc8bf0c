"""Each Bundle is a world of its own: the bundles met on the walk, and which of them a resource stands in."""

from __future__ import annotations

from typing import NamedTuple

from bridge.check.look import part, text
from bridge.check.node import Node
from bridge.check.references import Index
from bridge.shapes import Json


class Scope(NamedTuple):
    """One Bundle, outermost or within another one, and where its references lead."""

    path: str
    bundle: Json
    type: str
    """Its `type`, empty where it has none; for what stands in no bundle too."""
    answers: Index
    created: frozenset[int]
    """ids (of Python) of the resources that the requests of a batch create."""


def nowhere() -> Scope:
    """Around a resource that stands in no Bundle."""
    return Scope("", {}, "", Index({}), frozenset())


def scopes(nodes: list[Node]) -> tuple[list[Scope], dict[int, Scope]]:
    """The bundles in their order, and by the id (of Python) of each entry's resource the bundle it stands in."""
    found: list[Scope] = []
    around: dict[int, Scope] = {}
    for node in nodes:
        if node.type == "Bundle":
            scope = _scope(node)
            found.append(scope)
            for entry in scope.answers.entries:
                around[id(entry["resource"])] = scope
    return found, around


def _scope(node: Node) -> Scope:
    index, type = Index(node.value), text(node.value, "type")
    posts = (e for e in index.entries if type == "batch" and text(part(e, "request"), "method") == "POST")
    return Scope(node.path, node.value, type, index, frozenset(id(e["resource"]) for e in posts))
