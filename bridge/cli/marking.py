"""What `check --mark` and `check --words` write, and where they may write it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Container, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from bridge.errors import BridgeError, InputError

if TYPE_CHECKING:
    from bridge.issues import Issue
    from bridge.layout import Layout
    from bridge.marking import Place
    from bridge.pipeline import Converter
    from bridge.read.table import Table
    from bridge.words_asked import WordsAsked

LayoutsOf = Callable[[Path], "Layout | Sequence[Layout] | None"]
BOOKS = (".xlsx", ".xlsm")
SUMMARY = "to-do.xlsx"
_OTHER_NAME = "Choose another name, or move that file away."


@dataclass(frozen=True, slots=True)
class Plan:
    """Which file each source is marked in; `summary` tells of all sources where there are several."""

    copies: dict[Path, Path]
    summary: Path | None

    def without(self, unread: Container[Path]) -> Plan:
        """The plan without sources that could not be read."""
        return Plan({source: copy for source, copy in self.copies.items() if source not in unread}, self.summary)


def plan(mark: Path, sources: Sequence[Path]) -> Plan:
    """Where everything will be written, before anything is. Raises UsageError and InputError for what must not be."""
    from bridge.marking import may_replace

    sheets = [source for source in sources if _is_table(source)]
    if mark.suffix.lower() in BOOKS and not mark.is_dir():
        if len(sheets) > 1:
            raise click.UsageError("There are several sheets to mark: name a folder with --mark.")
        found = Plan({sheets[0]: mark} if sheets else {}, None if sheets else mark)
    elif mark.suffix and not mark.is_dir():
        raise click.UsageError("--mark writes workbooks: name a file that ends with .xlsx, or a folder.")
    else:
        for name, count in Counter(source.stem.casefold() for source in sheets).items():
            if count > 1:
                raise click.UsageError(f"Several records are named {name}: mark them one after the other.")
        found = Plan({source: mark / f"{source.stem}.marked{_ending(source)}" for source in sheets}, mark / SUMMARY)
    for source, target in found.copies.items():
        if target.suffix.lower() != _ending(source):
            raise click.UsageError(f"The marked copy of {source.name} must end with {_ending(source)}.")
    for target in (*found.copies.values(), *([found.summary] if found.summary else [])):
        _refuse_originals(target, sources)
        if not may_replace(target):
            raise InputError(f"{target} is there, and is not a marked copy as it was written.", _OTHER_NAME)
    return found


def plan_words(words: Path, sources: Sequence[Path], mark: Path | None) -> None:
    """Raises UsageError and InputError where the sheet of words must not be written."""
    from bridge.marking import may_replace, unanswered_csv

    if not sources:
        raise click.UsageError("--words lists the words of records, and there are none among the sources.")
    if words.suffix.lower() not in (".csv", ".xlsx"):
        raise click.UsageError("--words writes a file that ends with .csv or .xlsx.")
    if mark and mark.resolve() == words.resolve():
        raise click.UsageError("A marked copy has its own sheet of words: leave --words out, or name another file.")
    _refuse_originals(words, sources)
    ours = may_replace(words) if words.suffix.lower() == ".xlsx" else not words.exists() or unanswered_csv(words)
    if not ours:
        raise InputError(f"{words} is there, and is no sheet of words that is still unanswered.", _OTHER_NAME)


def layouts_of_source(converter: Converter | None, named: Path | None) -> LayoutsOf:
    """The layouts among which each source found its own."""
    from bridge.layout import load_layout

    given = load_layout(named) if named else None
    return lambda source: given or (converter.layout(source) if converter else None)


def write_marked(found: Plan, layouts_of: LayoutsOf, issues: list[Issue], words: WordsAsked) -> int:
    """Writes every copy and says how many; what a copy lacks is added to the issues. Raises BridgeError."""
    from bridge.marking import book_of_rows, copied, lacking, summary_book

    books = {source for source in found.copies if _is_book(source)}
    for source in found.copies:
        issues += lacking(source) if source in books else []
    alone = words if found.summary is None else None
    places: dict[str, Mapping[str, Place]] = {}
    for source, target in found.copies.items():
        told = issues if found.summary is None else [one for one in issues if one.where.file == source.name]
        if source in books:
            content, at = copied(source, told, alone)
        else:
            content, at = book_of_rows(_tables(source, layouts_of(source)), source.name, told, alone)
        _write(target, content)
        places[source.name] = {sheet: place._replace(book=target.name) for sheet, place in at.items()}

    def link(one: Issue) -> Place | None:
        return places.get(one.where.file, {}).get(one.where.sheet)

    if found.summary is not None:
        _write(found.summary, summary_book(issues, link, words))
    return len(found.copies) + (found.summary is not None)


def write_words(target: Path, words: WordsAsked) -> None:
    """Writes the sheet of words alone. Raises BridgeError."""
    from bridge.marking import words_book, words_csv

    _write(target, words_csv(words) if target.suffix.lower() == ".csv" else words_book(words))


def _is_table(source: Path) -> bool:
    from bridge.read.visits import is_sheet

    try:
        return is_sheet(source)
    except InputError:
        return False


def _tables(source: Path, layouts: Layout | Sequence[Layout] | None) -> list[Table]:
    """The tables of a source that hold visits, as they are read through their layouts."""
    from bridge.read.choose_tables import choose_tables

    return [table for table, _ in choose_tables(source, layouts or ())[0]]


def _is_book(source: Path) -> bool:
    """Whether a source is a workbook itself, and no text or database."""
    with source.open("rb") as stream:
        return stream.read(4) == b"PK\x03\x04"


def _ending(source: Path) -> str:
    return ".xlsm" if source.suffix.lower() == ".xlsm" else ".xlsx"


def _refuse_originals(target: Path, sources: Sequence[Path]) -> None:
    if target.is_symlink() or target.is_dir():
        raise InputError(f"{target} is a folder or leads to another place.", _OTHER_NAME)
    if any(target.resolve() == source.resolve() for source in sources):
        raise InputError(f"{target} is one of the records themselves; a copy never takes their place.", _OTHER_NAME)


def _write(target: Path, content: bytes) -> None:
    from bridge.safe_write import write_bytes

    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        write_bytes(target, content, private=True)
    except OSError as error:
        raise BridgeError(
            f"{target} cannot be written: {error.strerror or 'unknown reason'}.",
            "Close the file if it is open elsewhere, or choose another place.",
        ) from None
