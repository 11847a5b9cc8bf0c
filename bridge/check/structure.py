"""S: shape of any resource against the tables of the standard.

One walk finds the faults of shape and collects every object together with its type, so that the
other families of checks need not walk again and never meet an object of a type they did not expect.
What an object holds may still be anything: those checks must look before they use it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from typing import Any

from bridge.check import simple
from bridge.check.gate.plan import links
from bridge.check.invariants.values import contained
from bridge.check.look import nested_deeper
from bridge.check.node import MAX_DEPTH, MAX_ITEMS, MAX_OBJECTS, OUTERMOST, Node
from bridge.enough import EnoughError, Told
from bridge.fhir import tables
from bridge.fhir.tables import Element
from bridge.issues import Where, issue
from bridge.safe_text import code_or, like_code
from bridge.shapes import Json

_SIBLING = Element("", "Element", False, False, False, "", frozenset(), "", "")


def whole(data: Any) -> Where:
    """The place of data as a whole: the kind of resource that it is."""
    type = data.get("resourceType") if isinstance(data, dict) else None
    return Where(path=type if isinstance(type, str) and tables.is_resource(type) else "Resource")


class Walk:
    """Issues of shape, and every object with its type in the order of the data."""

    def __init__(self, data: Any, certain: frozenset[int] = frozenset()) -> None:
        """`certain`: ids (of Python) of resources that passed the gate; of them only the references are noted."""
        self.certain = certain
        self.nodes: list[Node] = []
        self._told = Told()
        too_many, where = "", whole(data)
        try:
            self._resource(data, where.path, OUTERMOST, data, 0)
        except EnoughError as error:
            too_many = str(error)
        self.issues = self._told.whole(where, too_many)

    def _add(self, rule: str, path: str, message: str, cause: str = "", help: str = "", unseen: Any = None) -> None:
        """`unseen`: what is not looked into any more because of this fault."""
        self._told.add(issue(rule, message, Where(path=path), help=help, cause=cause))
        if isinstance(unseen, dict | list) and nested_deeper(unseen, MAX_DEPTH):
            self._too_deep(path)

    def _too_deep(self, path: str) -> None:
        self._add("S125", path, f"Objects and lists are nested more than {MAX_DEPTH} deep.")

    def _resource(self, value: Any, path: str, element: Element, owner: Any, depth: int) -> None:
        if not isinstance(value, dict):
            self._add("S105", path, "A resource is needed here: an object in braces.", unseen=value)
            return
        type = value.get("resourceType")
        if not isinstance(type, str) or not type:
            told = "This does not say what kind of resource it is (resourceType)."
            self._add("S101", path, told, unseen=value)
        elif not tables.is_resource(type):
            said = f"“{type}”" if like_code(type) else "What stands under resourceType"
            told = f"{said} is not a kind of resource in FHIR R4."
            near = _meant(type, tables.resources())
            other = "If the kind is of another edition of FHIR, the sender has to convert it to R4 (4.0.1)."
            self._add("S101", path, told, code_or(type, "S101:no name"), near and f"{near} {other}", value)
        elif id(value) in self.certain:
            self.nodes += links(value, type, path, element, owner)
        else:
            self._object(value, type, path, element, owner, depth)

    def _object(self, value: Json, type: str, path: str, element: Element, owner: Json, depth: int) -> None:
        if depth > MAX_DEPTH:
            self._too_deep(path)
            return
        if not value:
            self._add("S107", path, "This object is empty.")
            return
        if len(self.nodes) >= MAX_OBJECTS:
            raise EnoughError(f"{MAX_OBJECTS:,} objects")
        self.nodes.append(Node(path, type, value, element, owner))
        known = tables.elements(type)
        chosen: dict[str, str] = {}
        for key, inner in value.items():
            found = known.get(key)
            if found is None:
                found = self._unknown(value, known, key, type, path, inner, owner, depth)
            elif not (found.primitive and not found.many and simple.fine(found, inner)):
                self._element(value, found, inner, f"{path}.{key}", owner, depth)
            if found is not None and found.choice and chosen.setdefault(found.choice, found.name) != found.name:
                self._add("S106", path, f"{chosen[found.choice]} and {found.name} exclude each other.")
        for name, keys in tables.required(type):
            if not any(key in value or f"_{key}" in value for key in keys):
                self._add("S103", path, f"{type} must have {name}.")

    def _unknown(
        self, value: Json, known: Mapping[str, Element], key: Any, type: str, path: str, inner: Any, owner: Json,
        depth: int,
    ) -> Element | None:  # fmt: skip
        """A key that is no element: the sibling of one, the kind of a resource, or a fault."""
        if isinstance(key, str) and key[:1] == "_" and (found := known.get(key[1:])) and _extended(found):
            self._sibling(value, found, inner, path, owner, depth)
            return found
        if key != "resourceType" or not tables.is_resource(type):
            name = _spelt(key)
            told = f"{type} has no element “{name}”." if name else f"{type} has no element of a name that stands here."
            where = f"{path}.{name}" if name else path
            self._add("S102", where, told, help=_meant(name, known) if name else "", unseen=inner)
        return None

    def _element(self, owner: Json, found: Element, inner: Any, path: str, resource: Json, depth: int) -> None:
        if inner is None:
            self._add("S107", path, "null says nothing; leave the element out.")
        elif found.many != isinstance(inner, list):
            told = "A list is needed here." if found.many else "Only one value may stand here, not a list."
            self._add("S104", path, told, unseen=inner)
        elif not found.many:
            self._one(found, inner, path, resource, depth)
        elif not inner:
            self._add("S107", path, "This list is empty.")
        else:
            self._list(owner, found, inner, path, resource, depth)

    def _list(self, owner: Json, found: Element, rows: list[Any], path: str, resource: Json, depth: int) -> None:
        if self._too_long(rows, path):
            return
        beside = owner.get(f"_{found.name}") if found.primitive else None
        for index, item in enumerate(rows):
            if item is not None:
                self._one(found, item, f"{path}[{index}]", resource, depth)
            elif not (isinstance(beside, list) and index < len(beside) and beside[index] is not None):
                self._add("S107", f"{path}[{index}]", "null says nothing; leave the entry out.")

    def _too_long(self, rows: list[Any], path: str) -> bool:
        if len(rows) <= MAX_ITEMS:
            return False
        self._add("S116", path, f"This list has {len(rows):,} entries; more than {MAX_ITEMS:,} are not looked at.")
        return True

    def _one(self, found: Element, value: Any, path: str, resource: Json, depth: int) -> None:
        if found.primitive:
            if not simple.fine(found, value):
                for rule, message, cause in simple.problems(found, value):
                    self._add(rule, path, message, cause, unseen=value)
                if found.type == "canonical" and _leads_nowhere(value, resource):
                    self._add("B158", path, "This leads to nothing that is contained here.")
        elif found.type == tables.RESOURCE:
            self._resource(value, path, found, resource if found.name == "contained" else value, depth + 1)
        elif not isinstance(value, dict):
            self._add("S105", path, f"An object is needed here ({found.type}).", unseen=value)
        else:
            self._object(value, found.type, path, found, resource, depth + 1)
            if found.codes and not simple.bound(found, value):
                told = f"None of the codes here is one of {found.codes}, as the standard requires."
                self._add("S111", path, told)

    def _sibling(self, owner: Json, found: Element, inner: Any, path: str, resource: Json, depth: int) -> None:
        """`_birthDate` beside `birthDate`: ids and extensions of simple values."""
        path, value = f"{path}._{found.name}", owner.get(found.name)
        if not found.many:
            rows = [(path, inner)]
        elif not isinstance(inner, list) or not inner:
            self._add("S114", path, "A list is needed here, as long as the one it belongs to.", unseen=inner)
            return
        elif self._too_long(inner, path):
            return
        else:
            if isinstance(value, list) and len(value) != len(inner):
                self._add("S114", path, f"This list has {len(inner)} entries, but {found.name} has {len(value)}.")
            if all(row is None for row in inner):
                self._add("S114", path, "This list holds only null, which says nothing.")
            rows = [(f"{path}[{index}]", row) for index, row in enumerate(inner) if row is not None]
            if not isinstance(value, list) and len(rows) < len(inner):
                self._add("S114", path, "A null here stands for a value, and there is no list of values beside it.")
        for place, row in rows:
            if isinstance(row, dict):
                self._object(row, "Element", place, _SIBLING, resource, depth + 1)
            else:
                self._add("S114", place, "An object with an id or extensions is needed here.", unseen=row)


def _extended(found: Element) -> bool:
    """Whether an id or extensions can stand beside a simple value."""
    return found.primitive and not found.attribute and found.type != "xhtml" and found.name != "id"


def _spelt(key: Any) -> str:
    """The name to quote, empty where it does not look like one; of what was never JSON, its type.

    Definitions write a choice as `value[x]`, and who copies from them writes that too.
    """
    if not isinstance(key, str):
        return type(key).__name__
    return key if like_code(key.removesuffix("[x]")) else ""


def _meant(key: str, known: Iterable[str]) -> str:
    """What to do about a name that is none: the one that was probably meant. Empty where none is near."""
    folded = {name.lower(): name for name in known}
    near = get_close_matches(key[:60].lower(), folded, 1, 0.8)
    return f"Perhaps “{folded[near[0]]}” is meant." if near else ""


def _leads_nowhere(canonical: Any, resource: Json) -> bool:
    """Whether a canonical address names something contained that is not there; `#` alone is the resource itself."""
    if not isinstance(canonical, str) or canonical[:1] != "#":
        return False
    id = canonical[1:].partition("|")[0]
    return bool(id) and id not in contained(resource)
