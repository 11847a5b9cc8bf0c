"""The location of an issue as FHIRPath, in the part of it that OperationOutcome.expression allows.

Paths of issues spell elements as JSON does; FHIRPath says `Observation.value` for `valueQuantity`, and no underscores.
Source: https://hl7.org/fhir/R4/fhirpath.html#simple, https://hl7.org/fhir/R4/formats.html#choice.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from functools import cache
from typing import Any

from bridge.fhir import tables
from bridge.issues import Issue

_STEP = re.compile(r"\.([A-Za-z_][A-Za-z0-9_]*)|\[([0-9]+)\]")
_KEYWORDS = frozenset({"and", "div", "implies", "mod", "or", "xor", "true", "false"})
"""Words of FHIRPath; an element of that name stands in backquotes."""
_ROOT = re.compile(r"[A-Z][A-Za-z]*(?=[.\[]|$)")


def fhirpath_of(path: str, data: Any = None) -> str:
    """The location as FHIRPath; of something that R4 does not have, that of what it stands in. Empty for a place in
    no resource (a field of a visit, or a file as a whole).

    `data` is the resource that the path begins at. It tells the kinds of resources inside of others; without it,
    names inside of them are taken as most kinds have them.
    """
    root = _ROOT.match(path)
    if root is None or not (tables.knows(root[0]) or root[0] == tables.RESOURCE):
        return ""
    said, type, node, at = root[0], _type_of(data) or root[0], data, root.end()
    while step := _STEP.match(path, at):
        at = step.end()
        if step[2] is not None:
            said += step[0]
            node = _item(node, int(step[2]))
            if type == tables.RESOURCE:
                type = _type_of(node)
            continue
        if type == tables.RESOURCE:
            type = _type_of(node)
        bare = step[1].removeprefix("_")
        if type and tables.knows(type):
            element = tables.elements(type).get(bare)
            if element is None:
                return said
            name = element.choice.removesuffix("[x]") or bare
            type = "Element" if element.primitive else element.type
        else:
            name, type = _likely(bare), ""
        said += f".`{name}`" if name in _KEYWORDS else f".{name}"
        node = node.get(step[1]) if isinstance(node, dict) else None
    return said


def with_expressions(issues: Iterable[Issue], data: Any) -> list[Issue]:
    """The issues, each with its location as FHIRPath where it has one."""
    return [
        one
        if one.where.expression or not (said := fhirpath_of(one.where.path, data))
        else replace(one, where=replace(one.where, expression=said))
        for one in issues
    ]


def _item(node: Any, index: int) -> Any:
    return node[index] if isinstance(node, list) and index < len(node) else None


def _type_of(node: Any) -> str:
    type = node.get("resourceType") if isinstance(node, dict) else None
    return type if isinstance(type, str) and tables.is_resource(type) else ""


@cache
def _likely(name: str) -> str:
    """The element that a property of an unknown type is in most types that have it."""
    names = [
        element.choice.removesuffix("[x]") or name for type in tables.types() if (element := _property(type, name))
    ]
    return max(names, key=names.count, default=name)


def _property(type: str, name: str) -> tables.Element | None:
    return tables.elements(type).get(name)
