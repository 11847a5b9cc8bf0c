"""V: extensions that the standard itself defines hold what their definitions say.

Source: https://hl7.org/fhir/R4/extensibility.html (Extension.url names the definition), extension-registry.html. Where
an extension may stand is not judged: published definitions put some elsewhere than they say.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from bridge.check.invariants.registry import each, invariant
from bridge.check.look import has, text
from bridge.check.node import Node
from bridge.fhir import tables
from bridge.shapes import Json


@each("V440", "Extension.value[x]", "Extension")
def value_as_defined(node: Json, at: Node) -> Iterator[str]:
    """The extension's own value, or those of its parts. A part that the definition does not name is let through."""
    defined = tables.extension(text(node, "url"))
    if isinstance(defined, list):
        if not _one_of(defined, node):
            yield ""
    elif defined is not None:
        if has(node, "value[x]"):
            yield ""
        for index, part in _rows(node):
            types = defined.get(text(part, "url"), {}).get("types")
            if types and not _one_of(types, part):
                yield f".extension[{index}]"


@invariant("V441", "Extension.extension", "Extension")
def parts_as_defined(node: Json, at: Node) -> bool:
    defined = tables.extension(text(node, "url"))
    if defined is None or isinstance(defined, list):
        return True
    there = [text(part, "url") for _, part in _rows(node)]
    return all(
        there.count(name) >= row.get("min", 0) and (row.get("max") == "*" or there.count(name) <= 1)
        for name, row in defined.items()
    )


def _one_of(types: Iterable[str], node: Json) -> bool:
    """Whether there is a value of one of the types, if only in what stands beside it (`_valueCode`)."""
    return any(has(node, f"value{type[0].upper()}{type[1:]}") for type in types)


def _rows(node: Json) -> Iterator[tuple[int, Any]]:
    rows = node.get("extension")
    return ((n, r) for n, r in enumerate(rows if isinstance(rows, list) else ()) if isinstance(r, dict))
