"""The parts of an element that its own definition does not list: those of its type, or of the element it repeats."""

from __future__ import annotations

from collections.abc import Callable

from bridge.profiles.snapshot.merge import constraints
from bridge.profiles.snapshot.problems import Problems
from bridge.profiles.snapshot.tree import Node, copy, tree
from bridge.profiles.versions import cut
from bridge.shapes import Json

CORE = "http://hl7.org/fhir/StructureDefinition/"
Find = Callable[[str], Json | None]
LookUp = Callable[[str, str], list[Json]]
_PARTLESS = "http://hl7.org/fhirpath/"


class Unfolder:
    """`elements` makes the snapshot of a canonical for an element; `own` is what the base says of itself."""

    __slots__ = ("_elements", "_find", "_own", "_problems", "_trees")

    def __init__(self, find: Find, elements: LookUp, own: list[Json], problems: Problems) -> None:
        self._find, self._elements, self._own, self._problems = find, elements, own, problems
        self._trees: dict[str, Node | None] = {}

    def unfold(self, node: Node, where: str) -> None:
        """Gives the node parts, none where it cannot have any; told if they are not to be found."""
        node.parts = {}
        element = node.element or {}
        if reference := element.get("contentReference"):
            self._repeat(node, element, reference, where)
            return
        root = self._type(element.get("type", ()), where)
        if root is not None:
            self._take(node, root)

    def rules(self, types: list[Json]) -> list[Json]:
        """The constraints that R4 writes at every element of these types: those of Element, and of Extension."""
        codes = [row["code"] for row in types]
        if codes and (":" in codes[0] or (self._find(CORE + codes[0]) or {}).get("kind") == "resource"):
            return []
        return self._root("Element") + (self._root("Extension") if "Extension" in codes else [])

    def _root(self, code: str) -> list[Json]:
        found = self._find(CORE + code) or {}
        for element in (found.get("elements") or found.get("differential") or ())[:1]:
            rules = constraints([], element.get("constraint", ()), CORE + code)
            return [rule for rule in rules if rule["source"] == CORE + code]
        return []

    def _repeat(self, node: Node, element: Json, reference: str, where: str) -> None:
        url, _, id = reference.partition("#")
        root = self._tree(url, where) if url else tree(self._own, Problems())
        found = _find(root, id)
        if found is None:
            self._problems.tell(f"{cut(where)} repeats {cut(reference)}, which is not there.")
            return
        node.element = {key: value for key, value in element.items() if key != "contentReference"}
        if found.element and "type" in found.element:
            node.element["type"] = found.element["type"]
        self._take(node, found)

    def _take(self, node: Node, of: Node) -> None:
        if of.parts is not None:
            node.parts = {name: copy(part, self._problems) for name, part in of.parts.items()}

    def _type(self, types: list[Json], where: str) -> Node | None:
        codes = list(dict.fromkeys(row["code"] for row in types))
        if not codes or codes[0].startswith(_PARTLESS):
            return None
        profiles = [url for row in types for url in row.get("profile", ())]
        if len(codes) == 1 and len(profiles) == 1 and (found := self._tree(profiles[0], where)) is not None:
            return found
        code = codes[0] if len(codes) == 1 else "Element"
        return self._tree(code if ":" in code else CORE + code, where)

    def _tree(self, canonical: str, where: str) -> Node | None:
        if canonical not in self._trees:
            self._trees[canonical] = tree(self._elements(canonical, where), Problems())
        return self._trees[canonical]


def _find(root: Node | None, id: str) -> Node | None:
    """The element with an id, of a tree without slices on the way."""
    at = root
    for step in id.split(".")[1:]:
        at = at.parts.get(step) if at is not None and at.parts is not None else None
    return at
