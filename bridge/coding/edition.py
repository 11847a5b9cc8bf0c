"""An edition of the term maps that stands in a folder, to be held against another one; nothing is sent by it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from bridge.coding.concepts import Concept, Kind
from bridge.coding.finer import load_finer
from bridge.coding.term_map import COLUMNS, TermMaps, load_term_maps
from bridge.data import load_csv, table_path
from bridge.errors import InputError, MappingError
from bridge.fhir.own import verified
from bridge.fhir.systems import system
from bridge.visit.base import Coding

SHIPPED = "shipped"
"""The name by which the tables of this installation are meant."""
KIND_COLUMNS = ("kind", "label", "assertable", "fields", "also")


@dataclass(frozen=True)
class _AsWritten(Concept):
    """A row whose codes may have no evidence any more: an old edition is read as it was."""

    @cached_property
    def codings(self) -> tuple[Coding, ...]:
        known = verified()
        given = (
            Coding(**known[code]) if code in known else Coding(system=system(code.partition(":")[0]), code=_bare(code))
            for code in self.codes
        )
        return (*given, *self.own_coding)


@dataclass(frozen=True, slots=True)
class Edition:
    name: str
    maps: TermMaps
    not_for_writing: frozenset[tuple[str, str]]
    """Codes that this edition says are never to be written, by system."""
    withdrawn: tuple[dict[str, str], ...]
    """Rows of `terms-withdrawn.csv`: what this edition says was wrong in an earlier one."""


def load_edition(name: str, *, licensed: bool = False) -> Edition:
    """The edition in a folder: a whole set of tables (`terms/` with `kinds.csv`), or a practice's own words over those
    that are shipped; the word `shipped` means the latter alone. `licensed`: with the finer codes of this installation,
    for both. Raises InputError where the folder has neither, and MappingError for a table that breaks its form."""
    folder = Path(name)
    shipped = table_path("terms").parent
    if name == SHIPPED and not folder.exists():
        return Edition(name, load_term_maps(licensed=licensed), _not_for_writing(shipped), _withdrawn(shipped))
    if (folder / "terms" / "kinds.csv").is_file():
        banned = folder if (folder / "not-for-writing.csv").is_file() else shipped
        return Edition(name, _whole(folder, licensed=licensed), _not_for_writing(banned), _withdrawn(folder))
    if not (folder / "practice.yaml").is_file() and not any((folder / "terms").glob("*.csv")):
        raise InputError(
            f"{folder.name or 'This folder'} holds no term maps.",
            f"Name a practice folder, a folder of tables like mappings, or `{SHIPPED}`.",
        )
    maps = load_term_maps(folder, licensed=licensed)
    return Edition(name, maps, _not_for_writing(shipped), (*_withdrawn(shipped), *_withdrawn(folder)))


def _whole(folder: Path, *, licensed: bool) -> TermMaps:
    kinds = {row["kind"]: _kind(row) for row in _rows(folder / "terms" / "kinds.csv", KIND_COLUMNS)}
    maps = TermMaps(kinds)
    for path in sorted((folder / "terms").glob("*.csv")):
        if path.name == "kinds.csv":
            continue
        for row in _rows(path, COLUMNS):
            if row["kind"] not in kinds or row["concept"] in maps.concepts:
                how = "stands there twice" if row["kind"] in kinds else "has a kind that kinds.csv does not list"
                raise MappingError(f"{path.name}: {row['concept']} {how}.")
            words, codes = tuple(row["words"].split("|")), tuple(row["codes"].split())
            named = (row["kind"], row["concept"], row["label"], words, codes)
            concept = _AsWritten(*named, row["evidence"], row["edition"], row["note"])
            maps.concepts[concept.code] = concept
            maps.add(concept.kind, concept.words, concept, path.name)
    for kind in kinds.values():
        if unknown := [name for name in kind.also if name not in kinds]:
            raise MappingError(f"kinds.csv: {kind.name} looks in {unknown[0]}, which is no kind.")
    if licensed:
        now = load_finer(load_term_maps().concepts)
        maps.finer = {concept: finer for concept, finer in now.items() if concept in maps.concepts}
    return maps


def _rows(path: Path, columns: tuple[str, ...]) -> list[dict[str, str]]:
    rows = list(load_csv(path))
    if rows and (missing := [name for name in columns if name not in rows[0]]):
        raise MappingError(f"{path.name} lacks the column {missing[0]}.", f"Its columns are {', '.join(columns)}.")
    return rows


def _kind(row: dict[str, str]) -> Kind:
    fields, also = tuple(row["fields"].split("|")), tuple(row["also"].split())
    return Kind(row["kind"], row["label"], row["assertable"] == "yes", row.get("open") == "yes", fields, also)


def _not_for_writing(folder: Path) -> frozenset[tuple[str, str]]:
    rows = _rows(folder / "not-for-writing.csv", ("code", "about"))
    return frozenset((system("sct"), row["code"]) for row in rows if row["about"] == "any")


def _withdrawn(folder: Path) -> tuple[dict[str, str], ...]:
    path = folder / "terms-withdrawn.csv"
    return tuple(_rows(path, ("kind", "word", "concept", "code", "since", "why"))) if path.is_file() else ()


def _bare(code: str) -> str:
    return code.partition(":")[2]
