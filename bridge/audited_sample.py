"""The corridor of re-coding: from records to a blind sheet with its key, and from filled sheets to agreement."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING

from bridge.audit.agree import Agreed, Filled, agreed, read_filled
from bridge.audit.sample import Drawn, Key, Thing, draw, key_of, read_key
from bridge.audit.sample.key import SUFFIX
from bridge.audit.shapes import Entry, Item
from bridge.audit.visit_items import visit_items
from bridge.audited.known import WordsKnown
from bridge.coding import Concept, TermMaps, fold
from bridge.coding.finer import Side
from bridge.errors import InputError
from bridge.fhir.systems import OWN
from bridge.issues import Where, issue
from bridge.recoding import HEADINGS, LINE, NOT_EAR, Asked, Choice, RecodingSheet
from bridge.telling_words import may_tell_who, telling_in

if TYPE_CHECKING:
    from bridge.read.rows import Table

MOST_KEYS = 100
"""Keys in one folder that are looked through."""
FIRST = 20
"""Rows of a sheet by which its key is found."""
SOME = 6
"""Usual words shown beside a meaning."""


@dataclass(slots=True)
class Sampled:
    sheet: RecodingSheet
    key: Key
    drawn: Drawn
    left_out: int
    """Things that could not be drawn, because their words may tell who somebody is."""


def sample(entries: Iterable[Entry], maps: TermMaps, number: int, seed: str, by: str = "") -> Sampled:
    """A blind sheet of `number` things of the records, drawn at random by the seed; `by`: what it is spread over."""
    things = _Things(maps)
    drawn = draw(things.of(entries), number, seed, by)
    kinds = sorted({thing.kind for thing in drawn.things})
    choices = {kind: choices_of(maps, kind, [t.item.text for t in drawn.things if t.kind == kind]) for kind in kinds}
    fields = {kind: (maps.kinds[kind].label, maps.kinds[kind].assertable) for kind in kinds}
    key = key_of(drawn, seed, by, choices, fields)
    lines = tuple(
        Asked(line.line, line.kind, line.field, line.words, line.under or NOT_EAR, line.assertable)
        for line in key.lines
    )
    return Sampled(RecodingSheet(key.name, lines, choices), key, drawn, things.left_out)


def choices_of(maps: TermMaps, kind: str, drawn: Sequence[str] = ()) -> tuple[Choice, ...]:
    """What words of a kind of field can mean: its own meanings, then those of the kinds that it borrows from.

    Words that stand in a drawn line are shown beside no meaning: there the coder could look the line up.
    """
    lines = f" {' | '.join(fold(words.replace('?', ' ')) for words in drawn)} "
    found: dict[str, Choice] = {}
    for name in (kind, *maps.kinds[kind].also):
        for concept in maps.concepts.values():
            if concept.kind == name:
                shown = concept.label if name == kind else f"{concept.label} ({maps.kinds[name].label})"
                codes = tuple(code for code in _codes(maps, concept) if code[0] != OWN)
                words = [word for word in concept.words if f" {fold(word)} " not in lines]
                found.setdefault(fold(shown), Choice(shown, concept.code, name, codes, tuple(words[:SOME])))
    return tuple(found.values())


def _codes(maps: TermMaps, concept: Concept) -> tuple[tuple[str, str], ...]:
    """Every code that a meaning can go out under, those of one ear among them."""
    sides: tuple[Side, ...] = (None, "right", "left", "both")
    found = (coding for side in sides for coding in maps.codings(concept, side))
    return tuple(dict.fromkeys((coding.system, coding.code) for coding in found))


class _Things:
    """What can be drawn: words in fields of terms where a code is due, and that tell of nobody."""

    def __init__(self, maps: TermMaps) -> None:
        self.maps = maps
        self.left_out = 0
        self._known = frozenset(word for words in maps.words.values() for word in words)
        self._words = WordsKnown(maps)
        self._by_code: dict[tuple[str, str], Concept] = {}
        for concept in maps.concepts.values():
            for code in _codes(maps, concept):
                self._by_code.setdefault(code, concept)

    def of(self, entries: Iterable[Entry]) -> Iterator[Thing]:
        for entry in entries:
            names = telling_in(entry.visit) if entry.visit else None
            for item in self._items(entry):
                kind = self._kind(item)
                if not kind or not item.text.strip() or not item.due:
                    continue
                if self._tells_who(item, names):
                    self.left_out += 1
                else:
                    yield Thing(entry, item, kind)

    def _items(self, entry: Entry) -> tuple[Item, ...]:
        """Of a bundle of ours, what the visit in it says, in its fields and with the codes that it was sent with."""
        if entry.source == "ours" and entry.visit is not None:
            return visit_items(entry.visit, self._words.expects, self._words.of)
        return entry.items

    def _kind(self, item: Item) -> str:
        """The kind of the field; where others made the resource, that of the meaning of its words or of its code."""
        kind = self.maps.kind_of(item.path)
        if kind is None and item.resource and item.path.startswith("Bundle"):
            codes = ((c.system, c.code) for c in item.codings)
            meant = self.maps.concepts.get(item.meant) or next(
                (self._by_code[c] for c in codes if c in self._by_code), None
            )
            kind = self.maps.kinds[meant.kind] if meant else None
        return "" if kind is None or kind.open else kind.name

    def _tells_who(self, item: Item, names: set[str] | None) -> bool:
        """Where nobody's names are known, words of the trade alone tell of nobody."""
        if names is None:
            return fold(item.text) not in self._known
        return may_tell_who(item.text, names, lambda part: fold(part) in self._known)


def key_for(sheets: Sequence[Path], named: Path | None) -> Key:
    """The key that is named, or the one beside the sheets whose name their lines begin with.

    Raises InputError where there is none.
    """
    if named is not None:
        return read_key(named)
    beside = sorted({path for sheet in sheets for path in sheet.parent.glob(f"*{SUFFIX}")})
    if len(beside) == 1:
        return read_key(beside[0])
    starts = {line.partition("-")[0] for sheet in sheets for line in _first_lines(sheet)}
    keys = [key for path in beside[:MOST_KEYS] if (key := _readable(path)) and key.name.casefold() in starts]
    if len({key.name for key in keys}) != 1:
        what = "No key of these sheets lies beside them" if not keys else "The sheets are of more than one key"
        raise InputError(f"{what}.", f"Name it with --key FILE{SUFFIX}, as `audit sample` wrote it.")
    return keys[0]


def _readable(path: Path) -> Key | None:
    try:
        return read_key(path)
    except InputError:
        return None


def _first_lines(sheet: Path) -> list[str]:
    """The numbers of the first lines of a sheet, in small letters; none where it cannot be read as one."""
    try:
        for headings, rows, _ in _tables(sheet):
            at = next((at for at, found in enumerate(headings) if fold(found) == fold(LINE)), None)
            if at is not None:
                return [cells[at].strip().casefold() for _, cells in islice(rows, FIRST) if len(cells) > at]
    except InputError:
        pass
    return []


def agreement(key: Key, sheets: Sequence[Path]) -> Agreed:
    """What filled sheets of one key say. Everything that is wrong with any of them is among its issues."""
    read: list[Filled] = []
    refused = []
    for path, coder in zip(sheets, _coders(sheets), strict=True):
        try:
            filled = _filled(key, path, coder)
        except InputError as error:
            refused.append(issue("A200", error.message, Where(path.name), cause=f"A200:{path.name}"))
            continue
        if filled is None:
            told = "No table of this file has the columns “Line” and “Meaning” of a re-coding sheet."
            refused.append(issue("A200", told, Where(path.name), cause=f"A200:{path.name}"))
        else:
            read.append(filled)
    done = agreed(key, read)
    return replace(done, issues=[*refused, *done.issues])


def _coders(sheets: Sequence[Path]) -> list[str]:
    """A coder's name is that of their file; of two files with one name, with the folder before it."""
    stems = [path.stem for path in sheets]
    named = [p.stem if stems.count(p.stem) == 1 else f"{p.resolve().parent.name}/{p.stem}" for p in sheets]
    return [n if named.count(n) == 1 else f"{n} ({at})" for at, n in enumerate(named, 1)]


def _filled(key: Key, path: Path, coder: str) -> Filled | None:
    """The answers of the first table in the file that holds lines."""
    for headings, rows, table in _tables(path):
        if filled := read_filled(key, coder, headings, rows, table.file, table.sheet):
            return filled
    return None


def _tables(path: Path) -> Iterator[tuple[list[str], Iterator[tuple[int, Sequence[str]]], Table]]:
    """Headings, numbered rows below them, and the table. Raises InputError where the file holds none."""
    from bridge.read.headings import heading
    from bridge.read.table import open_tables

    known = frozenset(" ".join(name.casefold().split()) for name in HEADINGS)
    for table in open_tables(path, known=known):
        headings, start = heading(table, known)
        yield headings, _rows(table, start), table


def _rows(table: Table, start: int) -> Iterator[tuple[int, Sequence[str]]]:
    return ((raw.number, raw.cells) for raw in table.rows() if raw.number >= start)
