"""The term maps: which words stand for which concept, kind by kind."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from bridge.coding.concepts import Concept, Kind
from bridge.coding.finer import Finer, Side, as_codings, load_finer
from bridge.data import load_csv, table_path
from bridge.errors import MappingError
from bridge.fhir.own import licensed as licensed_codes
from bridge.fhir.own import sided as sided_codes
from bridge.fhir.systems import SCT
from bridge.phrases.fold import fold
from bridge.phrases.tables import ambiguous, role
from bridge.phrases.vocabulary import shipped_rows
from bridge.visit.base import Coding

COLUMNS = ("kind", "concept", "label", "words", "codes", "evidence", "edition", "note")
_NUMBER = re.compile(r"\[\d+\]")


@cache
def _shorthand() -> frozenset[str]:
    return frozenset(fold(entry.word) for entry in ambiguous()) | role("denial")


@dataclass
class TermMaps:
    """Every kind with its words. Exact words only: nothing near decides."""

    kinds: dict[str, Kind]
    concepts: dict[str, Concept] = field(default_factory=dict)
    """By their own code."""
    words: dict[str, dict[str, Concept]] = field(default_factory=dict)
    """Kind to folded words to concept."""
    finer: dict[str, Finer] | None = None
    """Finer codes by own code, where the practice has chosen the licensed set."""
    version: str | None = None
    """The SNOMED CT edition that the practice names for its codes."""
    memo: dict[Any, Any] = field(default_factory=dict, repr=False)
    """What coding found out about words already; emptied when it grows large."""
    _fields: dict[str, Kind] = field(default_factory=dict, repr=False)
    _paths: dict[str, Kind | None] = field(default_factory=dict, repr=False)

    def __post_init__(self) -> None:
        self._fields = {path: kind for kind in self.kinds.values() for path in kind.fields}
        for name in self.kinds:
            self.words.setdefault(name, {})

    def find(self, kind: str, words: str) -> Concept | None:
        """The concept that the whole of the words stands for in this kind of field, or None.

        Shorthand with two readings has one only in the field whose own map says so (MS as a method), and so has a
        bare "nil": no impression is not a normal drum.
        """
        if kind not in self.kinds or not (key := fold(words)):
            return None
        found = self.words[kind].get(key)
        if found is None and key not in _shorthand():
            found = next((hit for other in self.kinds[kind].also if (hit := self.words[other].get(key))), None)
        return found

    def of_the_trade(self, word: str) -> bool:
        """Whether a word alone stands in a map of any kind."""
        return any(fold(word) in known for known in self.words.values())

    def codings(self, concept: Concept, side: Side = None) -> tuple[Coding, ...]:
        """Codes of a concept whose words stand under that ear: external ones first, the own code last."""
        finer = (self.finer or {}).get(concept.code)
        found = concept.codings
        if finer and (names := finer.names(side)):
            found = (*as_codings(names), *concept.own_coding)
        if self.version is None:
            return found
        edition = {"version": self.version}
        return tuple(c.model_copy(update=edition) if c.system == SCT else c for c in found)

    def kind_of(self, path: str) -> Kind | None:
        """The kind of terms that a field of the visit holds (`right.before.wax.amount`), or None."""
        if "[" in path:
            path = _NUMBER.sub("", path)
        if path not in self._paths:
            parts = path.split(".")
            ends = (".".join(parts[at:]) for at in range(len(parts)))
            self._paths[path] = next((self._fields[end] for end in ends if end in self._fields), None)
        return self._paths[path]

    def add(self, kind: str, words: Iterable[str], concept: Concept, source: str, *, over: bool = False) -> None:
        """Let words of a kind stand for a concept. MappingError where they already stand for another one."""
        known = self.words[kind]
        for word in words:
            key = fold(word)
            if not key:
                raise MappingError(f"{source}: {concept.code} has an empty word.", "Remove the extra | in its words.")
            if not over and known.get(key, concept) is not concept:
                raise MappingError(f"{source}: “{word}” stands for both {known[key].code} and {concept.code}.")
            known[key] = concept


def load_term_maps(own: Path | None = None, *, licensed: bool = False, version: str | None = None) -> TermMaps:
    """The shipped term maps, under the practice's own words where `own` (a practice folder) has a `terms` folder.

    `licensed`: with the finer codes of `mappings/terms-licensed/`; `version`: the edition they are told to be of.
    Raises MappingError for a table that breaks its form.
    """
    maps = TermMaps({row["kind"]: _kind(row) for row in load_csv(table_path("terms", "kinds.csv"))})
    for file, row in shipped_rows():
        _add_shipped(maps, row, file)
    if licensed:
        maps.finer, maps.version = load_finer(maps.concepts), version
    if own is not None:
        for path in sorted((own / "terms").glob("*.csv")):
            _add_own_file(maps, path)
    return maps


def _kind(row: dict[str, str]) -> Kind:
    fields, also = tuple(row["fields"].split("|")), tuple(row["also"].split())
    return Kind(row["kind"], row["label"], row["assertable"] == "yes", row["open"] == "yes", fields, also)


def _concept(row: dict[str, str], *, published: bool) -> Concept:
    words, codes = tuple(row["words"].split("|")), tuple(row["codes"].split())
    return Concept(
        row["kind"], row["concept"], row["label"], words, codes, row["evidence"], row["edition"], row["note"], published
    )


def _add_shipped(maps: TermMaps, row: dict[str, str], source: str) -> None:
    if row["kind"] not in maps.kinds:
        raise MappingError(f"{source}: there is no kind {row['kind']}.")
    concept = _concept(row, published=True)
    if concept.code in maps.concepts:
        raise MappingError(f"{source}: the concept {concept.code} stands there twice.")
    maps.concepts[concept.code] = concept
    maps.add(concept.kind, concept.words, concept, source)


def _add_own_file(maps: TermMaps, path: Path) -> None:
    """A practice's own words win over the shipped ones; two of its own rows must not clash."""
    seen: dict[tuple[str, str], str] = {}
    for row in load_csv(path):
        concept = _own_concept(maps, row, path.name)
        for word in row["words"].split("|"):
            if seen.setdefault((row["kind"], fold(word)), concept.code) != concept.code:
                raise MappingError(f"{path.name}: “{word}” stands there for two concepts.", "Keep one of the rows.")
        maps.concepts.setdefault(concept.code, concept)
        maps.add(row["kind"], row["words"].split("|"), concept, path.name, over=True)


def _own_concept(maps: TermMaps, row: dict[str, str], source: str) -> Concept:
    """The shipped concept that the row names, or a concept of the practice's own."""
    if missing := [name for name in COLUMNS if name not in row]:
        raise MappingError(f"{source} lacks the column {missing[0]}.", f"Its columns are {', '.join(COLUMNS)}.")
    if row["kind"] not in maps.kinds:
        raise MappingError(f"{source}: there is no kind {row['kind']}.", f"Kinds are {', '.join(sorted(maps.kinds))}.")
    shipped = maps.concepts.get(row["concept"])
    if shipped is None:
        if not row["label"].strip():
            from difflib import get_close_matches

            near = get_close_matches(row["concept"], maps.concepts, 3, 0.6)
            like = f" Concepts spelt like it: {', '.join(near)}." if near else ""
            raise MappingError(
                f"{source}: there is no concept {row['concept']}.{like}",
                "Correct its name (`visit-bridge terms find WORD` shows it), or give a concept of your own a label.",
            )
        concept = _concept(row, published=False)
        _ = concept.codings  # an unverified code is refused here and not in the middle of a run
        _check_codes(concept, source, licensed=maps.finer is not None)
        return concept
    if row["codes"].split() and tuple(row["codes"].split()) != shipped.codes:
        raise MappingError(
            f"{source}: {row['concept']} is a known concept with other codes.",
            "Leave its codes empty to add words to it, or give the row a concept name of your own.",
        )
    return shipped


def _check_codes(concept: Concept, source: str, *, licensed: bool) -> None:
    """Refuses codes of the licensed set where the practice has not chosen it, and codes that name an ear."""
    for code in concept.codes:
        if code in sided_codes():
            raise MappingError(
                f"{source}: the code {code} of {concept.code} names an ear by itself.",
                "The ear comes from the field where a word stands; name the code without a side.",
            )
        if code in licensed_codes() and not licensed:
            raise MappingError(
                f"{source}: the code {code} of {concept.code} is not free for everybody.",
                "With a SNOMED CT licence of your own write `codes: licensed` in practice.yaml; else leave it out.",
            )
