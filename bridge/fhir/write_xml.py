"""Our own XML: the elements in the order of the standard, decimals and narratives as they are; same data, same bytes.

Source: https://hl7.org/fhir/R4/xml.html.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from bridge.fhir import tables
from bridge.fhir.tables import Element
from bridge.fhir.xml_div import div_problem, returns_written
from bridge.issues import Issue, Where, issue

Json = dict[str, Any]

XML_TYPE = "application/fhir+xml"
_HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n'
_SPACE = ' xmlns="http://hl7.org/fhir"'
_ESCAPES = str.maketrans(
    {"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "\t": "&#9;", "\n": "&#10;", "\r": "&#13;"}
)
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
    writer = _Writer()
    writer.resource(resource, "Resource", 0, _SPACE)
    if writer.issues:
        raise NotXmlError(writer.issues)
    return (_HEAD + "".join(writer.parts)).encode("utf-8")


class _Writer:
    def __init__(self) -> None:
        self.parts: list[str] = []
        self.issues: list[Issue] = []

    def cannot(self, rule: str, message: str, path: str) -> None:
        self.issues.append(issue(rule, message, Where(path=path)))

    def resource(self, value: Any, path: str, depth: int, more: str = "") -> None:
        type = value.get("resourceType") if isinstance(value, dict) else None
        if not isinstance(type, str) or not tables.is_resource(type):
            self.cannot("S154", "Here stands no resource of a kind that FHIR R4 has.", path)
            return
        path = type if depth == 0 else path
        self.element(type, value, type, path, depth, more)

    def element(self, name: str, value: Json, type: str, path: str, depth: int, more: str = "") -> None:
        """An object with what is in it; `more` are attributes that its start tag has besides."""
        if depth > _MAX_DEPTH:
            self.cannot("S125", f"Elements are nested more than {_MAX_DEPTH} deep.", path)
            return
        known = tables.elements(type)
        self.surplus(value, type, path)
        attributes = "".join(
            f' {key}="{self.text(value[key], f"{path}.{key}")}"'
            for key, found in known.items()
            if found.attribute and key in value
        )
        start = len(self.parts)
        for key, found in known.items():
            if not found.attribute and (key in value or f"_{key}" in value):
                self.property(value, found, path, depth + 1)
        blanks = "  " * depth
        if len(self.parts) == start:
            self.parts.append(f"{blanks}<{name}{more}{attributes}/>\n")
        else:
            self.parts.insert(start, f"{blanks}<{name}{more}{attributes}>\n")
            self.parts.append(f"{blanks}</{name}>\n")

    def surplus(self, value: Json, type: str, path: str) -> None:
        known = tables.elements(type)
        for key in value:
            plain = key[1:] if isinstance(key, str) and key[:1] == "_" else key
            found = known.get(plain)
            kind = key == "resourceType" and tables.is_resource(type)
            comment = key == "fhir_comments"
            if not kind and not comment and (found is None or (plain != key and not found.primitive)):
                self.cannot("S154", f"{type} has no element “{str(key)[:60]}”.", f"{path}.{str(key)[:60]}")

    def property(self, owner: Json, found: Element, path: str, depth: int) -> None:
        path = f"{path}.{found.name}"
        value, beside = owner.get(found.name), owner.get(f"_{found.name}")
        if not isinstance(value, list) and not isinstance(beside, list):
            self.one(found, value, beside, path, depth)
            return
        if not value and not beside:
            self.cannot("S154", "This list is empty.", path)
        for index, (item, sibling) in enumerate(_pairs(value, beside)):
            self.one(found, item, sibling, f"{path}[{index}]", depth)

    def one(self, found: Element, value: Any, beside: Any, path: str, depth: int) -> None:
        if found.type == "xhtml":
            self.division(found.name, value, path, depth)
        elif found.primitive:
            self.simple(found, value, beside, path, depth)
        elif found.type == tables.RESOURCE:
            blanks = "  " * depth
            self.parts.append(f"{blanks}<{found.name}>\n")
            self.resource(value, path, depth + 1)
            self.parts.append(f"{blanks}</{found.name}>\n")
        elif isinstance(value, dict):
            self.element(found.name, value, found.type, path, depth)
        else:
            self.cannot("S154", f"Here must stand an object ({found.type}).", path)

    def simple(self, found: Element, value: Any, beside: Any, path: str, depth: int) -> None:
        if (value is None and not beside) or not isinstance(beside, dict | None):
            self.cannot("S154", f"Here must stand a value ({found.type}).", path)
            return
        given = "" if value is None else f' value="{self.text(value, path)}"'
        self.element(found.name, beside or {}, "Element", path, depth, given)

    def text(self, value: Any, path: str) -> str:
        """A simple value as it stands in an attribute."""
        if isinstance(value, str):
            if _IMPOSSIBLE.search(value):
                self.cannot("S153", "This text holds a sign that XML does not allow.", path)
            return value.translate(_ESCAPES)
        if isinstance(value, bool):
            return "true" if value else "false"
        if isinstance(value, int | float | Decimal) and Decimal(value).is_finite():
            return str(value)
        self.cannot("S154", "Here must stand a text, a number, true or false.", path)
        return ""

    def division(self, name: str, value: Any, path: str, depth: int) -> None:
        problem = div_problem(value.strip()) if isinstance(value, str) else "is no text"
        if problem:
            self.cannot("S154", f"The narrative {problem}.", path)
        else:
            self.parts.append(f"{'  ' * depth}{returns_written(value.strip())}\n")


def _pairs(value: Any, beside: Any) -> Iterator[tuple[Any, Any]]:
    """Values with what stands beside them, whichever of the two lists is longer, or no list."""
    rows = value if isinstance(value, list) else [] if value is None else [value]
    others = beside if isinstance(beside, list) else [] if beside is None else [beside]
    for index in range(max(len(rows), len(others))):
        yield rows[index] if index < len(rows) else None, others[index] if index < len(others) else None
