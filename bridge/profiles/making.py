"""Makes a shelf of definitions: structures with their snapshots, profiles, value sets, code systems."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from typing import Any

from bridge.issues import Issue, Where, issue
from bridge.profiles import needs
from bridge.profiles.compile import compile_profile
from bridge.profiles.facts import facts
from bridge.profiles.shelf import Row, encode, laid_out
from bridge.profiles.snapshot import ROOT, snapshot
from bridge.profiles.snapshot.problems import MOST_NODES
from bridge.profiles.versions import cut, newness, split
from bridge.shapes import Json
from bridge.terminology.value_sets import compile_code_system, compile_value_set

Find = Callable[[str], Json | None]
MOST_STRUCTURES = 5_000
MOST_TABLES = 60_000
MOST_TOLD = 200
MOST_ELEMENTS = 1_000_000
"""Elements of all snapshots of one package; R4 itself has some 30,000."""
_DEEPEST = 20
"""Definitions each built on the next that are made on the way to one; the snapshot follows longer chains itself."""
_KINDS = {
    "StructureDefinition": ("structures", facts),
    "ValueSet": ("value_sets", compile_value_set),
    "CodeSystem": ("code_systems", compile_code_system),
}


class Making:
    """Takes definitions in any order, then makes the shelf of them.

    `outside` gives the structures of other shelves; `foreign` says afterwards whether it was asked for something that
    is not one of the standard's own (`is_core`).
    """

    def __init__(
        self,
        outside: Find,
        place: Callable[[str], Where],
        is_core: Callable[[str], bool],
        busy: list[int],
        profiles: bool = True,
    ) -> None:
        """`busy`: an empty list, the same for shelves that may build on each other while they are made; `profiles`:
        whether profiles are compiled at once too."""
        self._outside, self._place, self._is_core = outside, place, is_core
        self._structures: dict[str, dict[str, Json]] = {}
        self._blobs: dict[tuple[str, str, str], bytes] = {}
        self._status: dict[tuple[str, str, str], str] = {}
        self._files: dict[tuple[str, str, str], str] = {}
        self._profiles = profiles
        self._busy = busy
        self._count: Counter[str] = Counter()
        self._of_other_editions = self._elements = 0
        self._needs: dict[str, None] = {}
        self.foreign = False
        self.issues: list[Issue] = []

    def take(self, file: str, definition: Json) -> None:
        """One definition; what cannot be used is told."""
        kind, compiled = _KINDS[definition["resourceType"]]
        url = definition.get("url")
        type = cut(definition["resourceType"])
        if not isinstance(url, str) or not url or len(url) > 2000:
            self._tell("P159", f"A {type} has no address (url), so nothing can refer to it.", file)
            return
        most = MOST_STRUCTURES if kind == "structures" else MOST_TABLES
        self._count[kind] += 1
        if self._count[kind] > most:
            self._tell("P156", f"There are more than {most:,} definitions of one kind; the rest was left out.", file)
            return
        url, version = split(url)  # some published ones carry their version there
        version = version or _text(definition, "version")
        key = (kind, url, version)
        if key in self._files:
            self._tell("P152", f"{cut(url)} is defined twice in the same version; the first one is used.", file)
            return
        edition = _text(definition, "fhirVersion")
        if edition and not edition.startswith("4.0."):
            self._of_other_editions += 1
        self._files[key], self._status[key] = file, _text(definition, "status")
        made = compiled(definition)
        if kind == "structures":
            self._structures.setdefault(key[1], {})[version] = made
        else:
            if kind == "value_sets":
                self._needs.update(dict.fromkeys(needs.of_value_set(made)))
            self._keep(key, made)

    def shelf(self, about: Json) -> bytes:
        """The bytes of the shelf, with what was told in its `about`."""
        if self._of_other_editions:
            words = f"{self._of_other_editions} definitions say that they are for another version of FHIR than 4.0."
            self._tell("P153", words, "")
        bases: dict[str, str] = {}
        for url, versions in self._structures.items():
            for version, structure in versions.items():
                self._finish(structure)
                key = ("structures", url, version)
                if isinstance(base := structure.get("base"), str) and base != ROOT:
                    bases.setdefault(split(base)[0], str(structure.get("name") or url))
                self._needs.update(dict.fromkeys(needs.of_structure(structure)))
                self._keep(key, structure)
                if self._profiles and structure.get("derivation") == "constraint":
                    profile = profile_of(structure)
                    self._status["profiles", url, version] = self._status[key]
                    self._files["profiles", url, version] = self._files[key]
                    self._keep(("profiles", url, version), profile)
        own = {url for _, url, _ in self._blobs}
        told = {
            "bases": {url: name for url, name in bases.items() if url not in own},
            "needs": [url for url in self._needs if url not in own and not url.startswith(needs.LANGUAGE)],
            "issues": [[one.rule, one.message, one.where.file] for one in self.issues],
        }
        rows: list[Row] = [(*key, self._status[key], blob) for key, blob in self._blobs.items()]
        return laid_out({**about, "foreign": self.foreign, **told}, rows)

    def find(self, canonical: str) -> Json | None:
        """A structure of these definitions or of others, its snapshot made where that can be."""
        url, version = split(canonical)
        if not self._is_core(url):
            if (own := self.own(url, version) or self.own(url)) is not None:
                return own
            self.foreign = True
        return self._outside(canonical)

    def own(self, url: str, version: str = "") -> Json | None:
        """A structure of these definitions in this version, or in the one to prefer."""
        versions = self._structures.get(url, {})
        if not version and versions:
            version = max(versions, key=lambda one: newness(one, self._status["structures", url, one]))
        found = versions.get(version)
        if found is not None and len(self._busy) < _DEEPEST:
            self._finish(found)
        return found

    def _finish(self, structure: Json) -> None:
        """Makes the snapshot in its place, unless that is under way."""
        if "differential" not in structure or id(structure) in self._busy:
            return
        elements, problems = self._snapshot(structure)
        if "differential" in structure:
            del structure["differential"]
            structure["elements"] = elements
            if problems:
                structure["problems"] = problems

    def _snapshot(self, structure: Json) -> tuple[list[Json], list[str]]:
        if self._elements > MOST_ELEMENTS:
            return [], ["Its snapshot was not made: those of the package have too many elements."]
        self._busy.append(id(structure))
        elements, problems = snapshot(structure, self.find)
        self._busy.pop()
        before = self._elements
        self._elements += len(elements) if elements or not self._has(structure.get("base")) else MOST_NODES
        if before <= MOST_ELEMENTS < self._elements:
            words = f"The snapshots have more than {MOST_ELEMENTS:,} elements; no more are made."
            self._tell("P156", words, "")
        return elements, problems

    def _has(self, base: Any) -> bool:
        """Whether the elements of a base are there, so that it is not for want of them if nothing was made."""
        url = split(base)[0] if isinstance(base, str) else ""
        if url in self._structures:
            return any(one.get("elements") for one in self._structures[url].values())
        return self._outside(base) is not None if url else False

    def _keep(self, key: tuple[str, str, str], made: Any) -> None:
        try:
            self._blobs[key] = encode(made)
        except (TypeError, ValueError, RecursionError):
            self._tell(
                "P159", f"{cut(key[1])} holds values that no definition has, and was left out.", self._files[key]
            )

    def _tell(self, rule: str, words: str, file: str) -> None:
        if len(self.issues) < MOST_TOLD:
            self.issues.append(issue(rule, words, self._place(file)))


def profile_of(structure: Json) -> Json:
    """The profile of a whole structure, with what was wrong in its snapshot."""
    profile = compile_profile(structure)
    if problems := structure.get("problems"):
        profile["problems"] = [*problems, *profile.get("problems", ())]
    return profile


def _text(definition: Json, key: str) -> str:
    value = definition.get(key)
    return value[:100].encode("utf-8", "replace").decode() if isinstance(value, str) else ""
