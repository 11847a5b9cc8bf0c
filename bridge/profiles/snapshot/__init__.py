"""Makes the snapshot of a structure from its differential and its base.

Source: https://hl7.org/fhir/R4/profiling.html and structuredefinition.html; held against all published snapshots.
"""

from __future__ import annotations

from bridge.profiles.snapshot.merge import constraints
from bridge.profiles.snapshot.problems import Problems, TooMuchError
from bridge.profiles.snapshot.tree import Node, flatten, tree
from bridge.profiles.snapshot.unfold import CORE, Find, Unfolder
from bridge.profiles.snapshot.walk import Walk, without_slicing
from bridge.profiles.versions import cut
from bridge.shapes import Json

ROOT = f"{CORE}Base"
"""What later editions write as the base of what has none."""
_ROOT: Json = {"min": 0, "max": "*"}
_BASE: Json = {"path": "Base", "min": 0, "max": "*"}
MOST_BASES = 30
"""Definitions between one and the root of its chain."""


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
        url = str(structure.get("url", id(structure)))
        if url in self._made:
            return self._made[url]
        if url in self._busy or len(self._busy) > MOST_BASES:
            self._problems.tell(f"{cut(url)} builds on itself, or on too many others.")
            return []
        self._busy.append(url)
        try:
            made = self._made[url] = self._make(structure)
        except TooMuchError:
            self._problems.tell(f"{cut(url)} asks for more elements than are made of one definition.")
            made = []
        finally:
            self._busy.pop()
        return made

    def _make(self, structure: Json) -> list[Json]:
        problems = self._problems
        said = tree(structure.get("differential", ()), problems)
        url, type = str(structure.get("url")), str(structure.get("type")).rpartition("/")[2]
        base = structure.get("base", ROOT)
        own = [] if base == ROOT else self._look_up(base, "The definition")
        derivation = structure.get("derivation")
        adds = derivation == "specialization" or (derivation is None and "base" not in structure)
        if not own and not adds:
            return []
        root = tree(own, Problems()) or Node(type, "", {**_ROOT, "base": _BASE})
        bare = adds and structure.get("kind") in ("resource", "primitive-type")
        if adds:
            _begin(root, said.name if said is not None else type, structure.get("kind") == "logical", bare)
        if said is not None and said.name != root.name:
            problems.tell(f"The differential is of {cut(said.name)}, its base of {cut(root.name)}.")
        elif said is not None:
            unfolder = Unfolder(self._find, self._look_up, own, problems)
            Walk(url, adds, bare, unfolder, problems).lay(root, said, root.name)
        return flatten(root) if adds else _of_the_type(flatten(root), str(structure.get("type")))

    def _look_up(self, canonical: str, where: str) -> list[Json]:
        found = self._find(canonical)
        if found is None:
            self._problems.tell(f"{cut(where)} builds on {cut(canonical)}, which is not at hand.")
            return []
        if not found.get("elements"):
            return self.elements(found)
        if canonical not in self._made:
            self._made[canonical] = [_sourced(element, str(found.get("url"))) for element in found["elements"]]
        return self._made[canonical]


def _begin(root: Node, name: str, logical: bool, bare: bool) -> None:
    """Makes the root of a new type of the one of its base."""
    root.name = name
    if not logical:
        root.element = {**(root.element or {}), "base": {**_BASE, "path": name}}
    if bare:
        without_slicing(root)


def _of_the_type(elements: list[Json], type: str) -> list[Json]:
    """An element of a profile that repeats another one repeats it as the type has it, not as the profile makes it."""
    whose = type if ":" in type else CORE + type
    return [
        {**element, "contentReference": whose + element["contentReference"]}
        if element.get("contentReference", "").startswith("#")
        else element
        for element in elements
    ]


def _sourced(element: Json, url: str) -> Json:
    """The element with the source of each constraint, which a definition leaves out where it is itself."""
    rows = element.get("constraint")
    if not rows or all("source" in row for row in rows):
        return element
    return {**element, "constraint": constraints([], rows, url)}
