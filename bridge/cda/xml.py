"""Elements of HL7 V3 XML, made and looked at by lxml."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Any

V3 = "urn:hl7-org:v3"
XSI = "http://www.w3.org/2001/XMLSchema-instance"
_SPACE = f"{{{V3}}}"
XSI_TYPE = f"{{{XSI}}}type"

Node = Any
"""An lxml element; typed loosely because lxml is imported late."""


@cache
def _library() -> Any:
    from lxml import etree

    return etree


@cache
def _tag(name: str) -> str:
    return f"{{{V3}}}{name}"


def node(name: str, *children: Node | None, text: str | None = None, **attributes: str | None) -> Node:
    """An element of CDA with its attributes and children; those that are None are left out.

    Raises ValueError for a text that XML cannot hold.
    """
    made = _library().Element(_tag(name), nsmap={None: V3, "xsi": XSI})
    for key, value in attributes.items():
        if value is not None:
            made.set(key, value)
    if text is not None:
        made.text = text
    for child in children:
        if child is not None:
            made.append(child)
    return made


def add(parent: Node, *children: Node | None) -> Node:
    """The parent, with the children that are not None at its end."""
    for child in children:
        if child is not None:
            parent.append(child)
    return parent


def typed(made: Node, xsi_type: str | None) -> Node:
    """The same element with its `xsi:type`, which `value` must have."""
    if xsi_type:
        made.set(XSI_TYPE, xsi_type)
    return made


def type_of(found: Node) -> str:
    """The `xsi:type` without its prefix; empty where there is none."""
    return str(found.get(XSI_TYPE) or "").rpartition(":")[2]


def name_of(found: Node) -> str:
    """The element's name in the namespace of CDA; empty for anything else, comments and instructions included."""
    tag = found.tag
    return tag[len(_SPACE) :] if isinstance(tag, str) and tag.startswith(_SPACE) else ""


def one(found: Node | None, *path: str) -> Node | None:
    """The first element down this path of names."""
    for name in path:
        if found is None:
            return None
        found = found.find(_tag(name))
    return found


def every(found: Node | None, *path: str) -> list[Node]:
    """All elements of the last name, below the first ones of the names before."""
    last = one(found, *path[:-1])
    return [] if last is None else list(last.findall(_tag(path[-1])))


def children(found: Node | None) -> Iterator[Node]:
    """The child elements of CDA, in their order."""
    return (child for child in (() if found is None else found) if name_of(child))


def words(found: Node | None) -> str:
    """All text in an element, its children's included."""
    return "" if found is None else "".join(found.itertext())
