"""Our own XML: the elements in the order of the standard, decimals and narratives as they are; same data, same bytes.

The elements are made and written by lxml. In place of each narrative stands an instruction, and in place of that goes
the text when all is written, seen to be XML and changed in nothing: see `xml_div` for why lxml does not write it.
Source: https://hl7.org/fhir/R4/xml.html.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal
from functools import cache
from typing import Any

from bridge.fhir import tables
from bridge.fhir.tables import Element
from bridge.fhir.xml_div import Judge, returns_written
from bridge.issues import Issue, Where, issue
from bridge.shapes import Json

XML_TYPE = "application/fhir+xml"
_HEAD = b'<?xml version="1.0" encoding="UTF-8"?>\n'
_SPACE = "http://hl7.org/fhir"
_NARRATIVE = re.compile(rb"<\?div ([0-9]+)\?>")
"""No other instruction is written, and in values there is no angle bracket."""
_IMPOSSIBLE = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_MAX_DEPTH = 200


class NotXmlError(ValueError):
    """A resource that XML cannot carry whole; `issues` say what stands in the way, and where."""

    def __init__(self, issues: list[Issue]) -> None:
        super().__init__(issues[0].message)
        self.issues = issues


def write_xml(resource: Any) -> bytes:
    """XML in UTF-8, two blanks per level, a line end at the end; the narratives as they stand.

    Raises NotXmlError for signs that XML does not allow, narratives that are no XHTML, and data in which something
    stands that the type does not have or in another shape, because it could not be read back.
    """
    from lxml import etree

    writer = _Writer(etree)
    root = writer.resource(None, resource, "", 0)
    if root is None or writer.issues:
        raise NotXmlError(writer.issues)
    etree.indent(root)
    written: bytes = etree.tostring(root, encoding="UTF-8", xml_declaration=False)
    return _HEAD + _NARRATIVE.sub(lambda found: writer.narratives[int(found[1])], written) + b"\n"


class _Writer:
    def __init__(self, etree: Any) -> None:
        self.etree = etree
        self.issues: list[Issue] = []
        self.narratives: list[bytes] = []
        self.judge = Judge()

    def cannot(self, rule: str, message: str, path: str) -> None:
        self.issues.append(issue(rule, message, Where(path=path)))

    def made(self, parent: Any, name: str, attributes: dict[str, str]) -> Any:
        if parent is None:
            return self.etree.Element(_tag(name), attributes, {None: _SPACE})
        return self.etree.SubElement(parent, _tag(name), attributes)

    def resource(self, parent: Any, value: Any, path: str, depth: int) -> Any:
        type = value.get("resourceType") if isinstance(value, dict) else None
        if not isinstance(type, str) or not tables.is_resource(type):
            self.cannot("S154", "Here stands no resource of a kind that FHIR R4 has.", path or "Resource")
            return None
        return self.element(parent, type, value, type, path or type, depth, {})

    def element(
        self, parent: Any, name: str, value: Json, type: str, path: str, depth: int, given: dict[str, str]
    ) -> Any:
        """An object with what is in it; `given` are attributes that its start tag has besides."""
        if depth > _MAX_DEPTH:
            self.cannot("S125", f"Elements are nested more than {_MAX_DEPTH} deep.", path)
            return None
        known = tables.elements(type)
        if surplus := value.keys() - known.keys():
            self.surplus(surplus, type, path)
        for key, found in known.items():
            if found.attribute and key in value:
                given[key] = self.text(value[key], f"{path}.{key}")
        made = self.made(parent, name, given)
        for key, beside, found in _parts(type):
            if key in value or beside in value:
                self.property(made, value, found, path, depth + 1)
        return made

    def surplus(self, keys: set[Any], type: str, path: str) -> None:
        """Tells of keys that are no elements, unless they are what JSON has beside elements."""
        known = tables.elements(type)
        for key in sorted(keys, key=str):
            plain = key[1:] if isinstance(key, str) and key[:1] == "_" else key
            found = known.get(plain)
            kind = key == "resourceType" and tables.is_resource(type)
            comment = key == "fhir_comments"
            if not kind and not comment and (found is None or (plain != key and not found.primitive)):
                self.cannot("S154", f"{type} has no element “{str(key)[:60]}”.", f"{path}.{str(key)[:60]}")

    def property(self, made: Any, owner: Json, found: Element, path: str, depth: int) -> None:
        path = f"{path}.{found.name}"
        value, beside = owner.get(found.name), owner.get(f"_{found.name}")
        if not isinstance(value, list) and not isinstance(beside, list):
            self.one(made, found, value, beside, path, depth)
            return
        if not value and not beside:
            self.cannot("S154", "This list is empty.", path)
        for index, (item, sibling) in enumerate(_pairs(value, beside)):
            self.one(made, found, item, sibling, f"{path}[{index}]", depth)

    def one(self, made: Any, found: Element, value: Any, beside: Any, path: str, depth: int) -> None:
        if found.type == "xhtml":
            self.division(made, value, path)
        elif found.primitive:
            self.simple(made, found, value, beside, path, depth)
        elif found.type == tables.RESOURCE:
            self.resource(self.made(made, found.name, {}), value, path, depth + 1)
        elif isinstance(value, dict):
            self.element(made, found.name, value, found.type, path, depth, {})
        else:
            self.cannot("S154", f"An object is needed here ({found.type}).", path)

    def simple(self, made: Any, found: Element, value: Any, beside: Any, path: str, depth: int) -> None:
        if (value is None and not beside) or not isinstance(beside, dict | None):
            self.cannot("S154", f"A value is needed here ({found.type}).", path)
            return
        given = {} if value is None else {"value": self.text(value, path)}
        if beside:
            self.element(made, found.name, beside, "Element", path, depth, given)
        else:
            self.made(made, found.name, given)

    def text(self, value: Any, path: str) -> str:
        """A simple value as it stands in an attribute."""
        if isinstance(value, str):
            if _IMPOSSIBLE.search(value):
                self.cannot("S153", "This text holds a sign that XML does not allow.", path)
                return ""
            return value
        if isinstance(value, bool):
            return "true" if value else "false"
        if isinstance(value, int | float | Decimal) and Decimal(value).is_finite():
            return str(value)
        self.cannot("S154", "A text, a number, true or false is needed here.", path)
        return ""

    def division(self, made: Any, value: Any, path: str) -> None:
        problem = self.judge.problem(value.strip()) if isinstance(value, str) else "is no text"
        if problem:
            self.cannot("S154", f"The narrative {problem}.", path)
            return
        made.append(self.etree.ProcessingInstruction("div", str(len(self.narratives))))
        self.narratives.append(returns_written(value.strip()).encode("utf-8"))


@cache
def _parts(type: str) -> list[tuple[str, str, Element]]:
    """The elements of a type that are written as such, with the key of what stands beside each."""
    return [(key, f"_{key}", found) for key, found in tables.elements(type).items() if not found.attribute]


@cache
def _tag(name: str) -> str:
    return f"{{{_SPACE}}}{name}"


def _pairs(value: Any, beside: Any) -> Iterator[tuple[Any, Any]]:
    """Values with what stands beside them, whichever of the two lists is longer, or no list."""
    rows = value if isinstance(value, list) else [] if value is None else [value]
    others = beside if isinstance(beside, list) else [] if beside is None else [beside]
    for index in range(max(len(rows), len(others))):
        yield rows[index] if index < len(rows) else None, others[index] if index < len(others) else None
