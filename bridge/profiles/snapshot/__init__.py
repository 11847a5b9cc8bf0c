"""Makes the snapshot of a structure from its differential and its base.

Source: https://hl7.org/fhir/R4/profiling.html and structuredefinition.html; held against all published snapshots.
"""

from __future__ import annotations

from collections.abc import Callable

from bridge.shapes import Json

from .problems import Problems, TooMuch, cut
from .tree import Node, copy, flatten, tree
from .unfold import Unfolder
from .walk import Walk

MOST_BASES = 30
"""Definitions between one and the root of its chain."""

Find = Callable[[str], Json | None]


def snapshot(structure: Json, find: Find) -> tuple[list[Json], list[str]]:
    """The elements of the snapshot, and what is wrong in plain words. Nothing is raised.

    `find` gives structures by canonical; one of them may have no snapshot either, which is then made too.
    A structure that has its elements is given back as it is.
    """
    problems = Problems()
    return _Maker(find, problems).elements(structure), problems.all()


class _Maker:
    def __init__(self, find: Find, problems: Problems) -> None:
        self._find, self._problems = find, problems
        self._busy: list[str] = []
        self._made: dict[str, list[Json]] = {}

    def elements(self, structure: Json) -> list[Json]:
        if structure.get("elements"):
            return structure["elements"]  # type: ignore[no-any-return]
        url = str(structure.get("url"))
        if url in self._made:
            return self._made[url]
        if url in self._busy or len(self._busy) > MOST_BASES:
            self._problems.tell(f"{cut(url)} has itself as its base.")
            return []
        self._busy.append(url)
        try:
            made = self._made[url] = self._make(structure)
        except TooMuch:
            self._problems.tell(f"{cut(url)} asks for more elements than are made of one definition.")
            made = []
        finally:
            self._busy.pop()
        return made

    def _make(self, structure: Json) -> list[Json]:
        problems = self._problems
        said = tree(structure.get("differential", ()), problems)
        url, type = str(structure.get("url")), str(structure.get("type"))
        adds = structure.get("derivation") != "constraint"
        base = structure.get("base")
        own = self._look_up(base, "The definition") if base else []
        root = tree(own, Problems())
        if root is None:
            root = Node(type.rpartition("/")[2], "", {})
        if adds:
            root = copy(root, problems)
            root.name = said.name if said is not None else type.rpartition("/")[2]
            root.element = {**(root.element or {}), "base": {"path": root.name, "min": 0, "max": "*"}}
        if said is not None:
            if said.name != root.name:
                problems.tell(f"The differential is of {cut(said.name)}, its base of {cut(root.name)}.")
            Walk(url, adds, Unfolder(self._look_up, own, problems), problems).lay(root, said, root.name)
        return flatten(root)

    def _look_up(self, canonical: str, where: str) -> list[Json]:
        found = self._find(canonical)
        if found is None:
            self._problems.tell(f"{cut(where)} builds on {cut(canonical)}, which is not at hand.")
            return []
        return self.elements(found)
