"""A workbook of the rows of a source that is none itself, as they were read, with its doubtful cells marked."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any, Protocol

from bridge.errors import InputError
from bridge.issues import Issue
from bridge.marking.cells import Spec, append, letters, mark, text_cell
from bridge.marking.marks import Spot, marks_of
from bridge.marking.seal import saved
from bridge.marking.to_do import NAME, Link, Place, in_this_book, write_to_do
from bridge.marking.words_sheet import MEANINGS, add_words
from bridge.marking.words_sheet import NAME as WORDS_NAME
from bridge.words_asked import WordsAsked

RESERVED = "History"
"""A name that spreadsheet programs keep for themselves."""
MOST_ROWS, MOST_COLUMNS = 1_048_576, 16_384
_BAD_IN_NAMES = re.compile(r"[\[\]:*?/\\\x00-\x1f]+")
_LONGEST_NAME = 31
_SAMPLE, _WIDEST = 50, 40
_THEN = datetime(1980, 1, 1)


class Line(Protocol):
    """A row as it was read."""

    @property
    def number(self) -> int: ...
    @property
    def cells(self) -> list[str]: ...


class Lines(Protocol):
    """A table as it was read."""

    @property
    def sheet(self) -> str: ...
    @property
    def names(self) -> Sequence[str] | None:
        """Headings that are none of the rows."""

    def rows(self) -> Iterable[Line]: ...


def book_of_rows(
    tables: Sequence[Lines], file: str, told: Sequence[Issue], words: WordsAsked | None
) -> tuple[bytes, dict[str, Place]]:
    """The file of a workbook that holds the rows of every table, all cells as text, and where each of
    them stands in it. `told`: the issues for "To do", of which those of this file are marked in their cells."""
    widths = [_widths(table) for table in tables]
    book = _new()
    names = _names([table.sheet for table in tables])
    places = {t.sheet: Place(names[t.sheet], int(t.names is not None)) for t in tables}
    write_to_do(book.create_sheet(NAME), told, in_this_book(places, file))
    if words is not None:
        add_words(book, words)
    marks = marks_of(told, file)
    for table, wide in zip(tables, widths, strict=True):
        _write(book.create_sheet(names[table.sheet]), table, wide, marks.get(table.sheet, {}))
    return saved(book), places


def summary_book(told: Sequence[Issue], link: Link, words: WordsAsked | None) -> bytes:
    """The file of a workbook with "To do" for several sources, and "Words"."""
    book = _new()
    write_to_do(book.create_sheet(NAME), told, link)
    if words is not None:
        add_words(book, words)
    return saved(book)


def _new() -> Any:
    from openpyxl import Workbook  # type: ignore[import-untyped]

    book = Workbook(write_only=True)
    book.properties.created = _THEN
    book.properties.creator = "visit-bridge"
    return book


def _names(sheets: Iterable[str]) -> dict[str, str]:
    taken, found = {name.casefold() for name in (NAME, WORDS_NAME, MEANINGS, RESERVED)}, dict[str, str]()
    for sheet in sheets:
        plain = _BAD_IN_NAMES.sub(" ", sheet).strip(" '")[:_LONGEST_NAME] or "Rows"
        options = (plain, *(f"{plain[: _LONGEST_NAME - 5]} {n}" for n in range(2, 1000)))
        found[sheet] = next(n for n in options if n.casefold() not in taken)
        taken.add(found[sheet].casefold())
    return found


def _write(sheet: Any, table: Lines, widths: Sequence[int], marks: Mapping[Spot, list[Issue]]) -> None:
    for column, width in enumerate(widths, 1):
        sheet.column_dimensions[letters(column)].width = width
    by_row: dict[int, dict[int, list[Issue]]] = {}
    for (row, column), found in marks.items():
        by_row.setdefault(row, {})[column] = found
    if table.names is not None:
        append(sheet, [Spec(name, bold=True, colour="D9D9D9") for name in table.names])
    last = 0
    for number, cells in _in_order(table, sorted(by_row)):
        for _ in range(number - last - 1):
            sheet.append([])
        last = number
        here = by_row.get(number, {})
        size = max([len(cells), *here])
        out: list[Any] = []
        for column in range(1, size + 1):
            text = cells[column - 1] if column <= len(cells) else ""
            cell = text_cell(sheet, text) if text or column in here else None
            if column in here:
                mark(cell, here[column])
            out.append(cell)
        sheet.append(out)


def _in_order(table: Lines, marked: list[int]) -> Iterator[tuple[int, list[str]]]:
    """The rows by number, and rows that have a mark and are none (behind the last one)."""
    last = 0
    for line in table.rows():
        if last < line.number:
            yield line.number, line.cells
            last = line.number
    for number in marked:
        if last < number:
            yield number, []
            last = number


def _widths(table: Lines) -> list[int]:
    """How wide each column is to be. Raises InputError for more rows or columns than a workbook takes."""
    widths: list[int] = []
    last = size = 0
    for at, line in enumerate(table.rows()):
        last, size = line.number, max(size, len(line.cells))
        for column, cell in enumerate(line.cells[:MOST_COLUMNS] if at < _SAMPLE else ()):
            if column == len(widths):
                widths.append(10)
            widths[column] = min(max(widths[column], len(cell) + 2), _WIDEST)
    if last >= MOST_ROWS or size > MOST_COLUMNS:
        raise InputError(
            f"A workbook takes {MOST_ROWS} rows and {MOST_COLUMNS} columns, and these records have more.",
            "Use check without --mark for them.",
        )
    return widths
