"""The parts of an element that its own definition does not list: those of its type, or of the element it repeats."""

from __future__ import annotations

from bridge.shapes import Json

from .problems import Problems, cut
from .tree import Node, copy, tree

CORE = "http://hl7.org/fhir/StructureDefinition/"
_PARTLESS = "http://hl7.org/fhirpath/"


class Unfolder:
    """Knows where structures are (`elements`), and what the base says of itself (`own`)."""

    __slots__ = ("_elements", "_own", "_problems")

    def __init__(self, elements, own: list[Json], problems: Problems) -> None:  # type: ignore[no-untyped-def]
        self._elements, self._own, self._problems = elements, own, problems

    def unfold(self, node: Node, where: str) -> None:
        """Gives the node parts, none where it cannot have any; told if they are not to be found."""
        node.parts = {}
        element = node.element or {}
        if reference := element.get("contentReference"):
            self._repeat(node, element, reference, where)
            return
        root = self._type(element.get("type", ()), where)
        if root is not None and root.parts is not None:
            node.parts = {name: copy(part, self._problems) for name, part in root.parts.items()}

    def _repeat(self, node: Node, element: Json, reference: str, where: str) -> None:
        url, _, id = reference.partition("#")
        elements = self._own
        if url and not (elements and elements[0].get("path") == id.partition(".")[0]):
            elements = self._elements(url, where) or []
        found = _find(tree(elements, Problems()), id)
        if found is None:
            self._problems.tell(f"{cut(where)} repeats {cut(reference)}, which is not there.")
            return
        made = {key: value for key, value in element.items() if key != "contentReference"}
        if found.element and "type" in found.element:
            made["type"] = found.element["type"]
        node.element = made
        if found.parts is not None:
            node.parts = {name: copy(part, self._problems) for name, part in found.parts.items()}

    def _type(self, types: list[Json], where: str) -> Node | None:
        codes = list(dict.fromkeys(row["code"] for row in types))
        if not codes or codes[0].startswith(_PARTLESS):
            return None
        profiles = [url for row in types for url in row.get("profile", ())]
        if len(codes) == 1 and len(profiles) == 1 and "#" not in profiles[0]:
            elements = self._elements(profiles[0], where)
            if elements:
                return tree(elements, Problems())
        code = codes[0] if len(codes) == 1 else "Element"
        url = code if ":" in code else CORE + code
        elements = self._elements(url, where)
        return tree(elements, Problems()) if elements else None


def _find(root: Node | None, id: str) -> Node | None:
    """The element with an id, of a tree without slices on the way."""
    at = root
    for step in id.split(".")[1:]:
        at = at.parts.get(step) if at is not None and at.parts is not None else None
    return at
