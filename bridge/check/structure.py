"""S: shape of any resource against the tables of the standard.

One walk finds the faults of shape and collects every object together with its type, so that the
other families of checks need not walk again and never meet an object of a type they did not expect.
What an object holds may still be anything: those checks must look before they use it.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from bridge.check import primitives
from bridge.check.node import MAX_DEPTH, OUTERMOST, Node
from bridge.check.xhtml import narrative_problem
from bridge.fhir import tables
from bridge.fhir.tables import Element
from bridge.issues import Issue, Where, issue
from bridge.shapes import Json

_SIBLING = Element("", "Element", False, False, False, "", frozenset(), "", "")


class Walk:
    """Issues of shape, and every object with its type in the order of the data."""

    def __init__(self, data: Any) -> None:
        self.issues: list[Issue] = []
        self.nodes: list[Node] = []
        type = data.get("resourceType") if isinstance(data, dict) else None
        path = type if isinstance(type, str) and tables.is_resource(type) else "Resource"
        self._resource(data, path, OUTERMOST, data, 0)

    def _add(self, rule: str, path: str, message: str, cause: str = "") -> None:
        self.issues.append(issue(rule, message, Where(path=path), cause=cause))

    def _resource(self, value: Any, path: str, element: Element, owner: Any, depth: int) -> None:
        if not isinstance(value, dict):
            self._add("S105", path, "Here must stand a resource: an object in braces.")
            return
        type = value.get("resourceType")
        if not isinstance(type, str) or not type:
            self._add("S101", path, "This does not say what kind of resource it is (resourceType).")
        elif not tables.is_resource(type):
            self._add("S101", path, f"“{type[:60]}” is not a kind of resource in FHIR R4.", type[:60])
        else:
            self._object(value, type, path, element, owner, depth)

    def _object(self, value: Json, type: str, path: str, element: Element, owner: Json, depth: int) -> None:
        if depth > MAX_DEPTH:
            self._add("S125", path, f"Objects and lists are nested more than {MAX_DEPTH} deep.")
            return
        if not value:
            self._add("S107", path, "This object is empty.")
            return
        self.nodes.append(Node(path, type, value, element, owner))
        known = tables.elements(type)
        chosen: dict[str, str] = {}
        for key, inner in value.items():
            found = known.get(key)
            if found is None:
                if isinstance(key, str) and key[:1] == "_" and (found := known.get(key[1:])) and found.primitive:
                    self._sibling(value, found, inner, path, owner, depth)
                elif key != "resourceType" or not tables.is_resource(type):
                    self._add("S102", f"{path}.{str(key)[:60]}", f"{type} has no element “{str(key)[:60]}”.")
                    continue
            else:
                self._element(value, found, inner, f"{path}.{key}", owner, depth)
            if found is not None and found.choice and chosen.setdefault(found.choice, found.name) != found.name:
                self._add("S106", path, f"{chosen[found.choice]} and {found.name} exclude each other.")
        for name, keys in tables.required(type):
            if not any(key in value or f"_{key}" in value for key in keys):
                self._add("S103", path, f"{type} must have {name}.")

    def _element(self, owner: Json, found: Element, inner: Any, path: str, resource: Json, depth: int) -> None:
        if inner is None:
            self._add("S107", path, "null says nothing; leave the element out.")
        elif found.many != isinstance(inner, list):
            self._add("S104", path, "Here must stand a list." if found.many else "Only one may stand here, not a list.")
        elif not found.many:
            self._one(found, inner, path, resource, depth)
        elif not inner:
            self._add("S107", path, "This list is empty.")
        else:
            beside = owner.get(f"_{found.name}") if found.primitive else None
            for index, item in enumerate(inner):
                if item is not None:
                    self._one(found, item, f"{path}[{index}]", resource, depth)
                elif not (isinstance(beside, list) and index < len(beside) and beside[index] is not None):
                    self._add("S107", f"{path}[{index}]", "null says nothing; leave the entry out.")

    def _one(self, found: Element, value: Any, path: str, resource: Json, depth: int) -> None:
        if found.primitive:
            self._primitive(found, value, path)
        elif found.type == tables.RESOURCE:
            contained = found.name == "contained"
            self._resource(value, path, found, resource if contained else value, depth + 1)
        elif not isinstance(value, dict):
            self._add("S105", path, f"Here must stand an object ({found.type}).")
        else:
            self._object(value, found.type, path, found, resource, depth + 1)
            if found.codes:
                self._bound(found, value, path)

    def _primitive(self, found: Element, value: Any, path: str) -> None:
        type = found.type
        if type in primitives.TEXTS:
            if not isinstance(value, str):
                self._add("S105", path, f"Here must stand a text ({type}).")
            elif not value:
                self._add("S107", path, "This text is empty.")
            elif problem := primitives.TEXTS[type](value):
                self._add("S108" if type in primitives.MOMENTS else "S109", path, f"This {problem}.")
            elif type == "code":
                self._code(found, value, path)
            elif type == "xhtml":
                if problem := narrative_problem(value):
                    self._add("S113", path, f"The narrative {problem}.")
            elif problem := primitives.looks_blank(value):
                self._add("S112", path, f"This text {problem}.")
        elif type == "boolean":
            if not isinstance(value, bool):
                self._add("S105", path, "Here must stand true or false, without quotation marks.")
        elif isinstance(value, bool) or not isinstance(value, int | float | Decimal):
            self._add("S105", path, f"Here must stand a number, without quotation marks ({type}).")
        elif problem := primitives.NUMBERS[type](value):
            self._add("S110", path, f"This {problem}.")

    def _code(self, found: Element, value: str, path: str) -> None:
        allowed = tables.plain_codes(found.codes) if found.codes else None
        if allowed is not None and value not in allowed:
            some = f" Allowed: {', '.join(sorted(allowed))}." if len(allowed) <= 12 else ""
            cause = f"{found.codes}:{value[:60]}"
            self._add("S111", path, f"“{value[:60]}” is not a code of {found.codes}.{some}", cause)

    def _bound(self, found: Element, value: Json, path: str) -> None:
        """A Coding or CodeableConcept under a required binding: one of its codings must be in the list."""
        allowed = tables.codes(found.codes)
        codings = value.get("coding", []) if found.type == "CodeableConcept" else [value]
        if allowed is None or found.type not in ("CodeableConcept", "Coding") or not isinstance(codings, list):
            return
        if not any(_allowed(allowed, coding) for coding in codings):
            self._add("S111", path, f"None of the codes here is one of {found.codes}, as the standard requires.")

    def _sibling(self, owner: Json, found: Element, inner: Any, path: str, resource: Json, depth: int) -> None:
        """`_birthDate` beside `birthDate`: ids and extensions of simple values."""
        path, value = f"{path}._{found.name}", owner.get(found.name)
        if found.many:
            if not isinstance(inner, list) or not inner:
                self._add("S114", path, "Here must stand a list, as long as the one it belongs to.")
                return
            if isinstance(value, list) and len(value) != len(inner):
                self._add("S114", path, f"This list has {len(inner)} entries, but {found.name} has {len(value)}.")
            rows = [(f"{path}[{index}]", row) for index, row in enumerate(inner) if row is not None]
        else:
            rows = [(path, inner)]
        for place, row in rows:
            if isinstance(row, dict):
                self._object(row, "Element", place, _SIBLING, resource, depth + 1)
            else:
                self._add("S114", place, "Here must stand an object with an id or extensions.")


def _allowed(allowed: Mapping[str, frozenset[str]], coding: Any) -> bool:
    if not isinstance(coding, dict):
        return False
    system, code = coding.get("system"), coding.get("code")
    return isinstance(system, str) and isinstance(code, str) and code in allowed.get(system, ())
