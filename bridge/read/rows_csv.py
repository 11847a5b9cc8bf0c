"""Rows of a CSV file, each with its number as a spreadsheet counts it. The file is never held whole."""

from __future__ import annotations

import csv
from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TextIO

from bridge.errors import InputError

DELIMITERS = (",", ";", "\t", "|")
MAX_ROW_LINES = 500
"""More lines in one row than this, and a quotation mark was not closed."""
MAX_ROW_CHARS = 64_000_000
HEADING_WITHIN = 20


@dataclass(frozen=True, slots=True)
class Raw:
    """One row as it stands. `broken`: its quotation marks are not in order, most often one is never closed."""

    number: int
    cells: list[str]
    broken: bool = False


class _Lines:
    """Lines of a stream that can be given back, remembering those of the row being read."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream
        self._back: deque[str] = deque()
        self.row: list[str] = []
        self.size = 0
        self.ended = False
        """The file ended while a row wanted another line: its quotation mark is still open."""

    def __iter__(self) -> _Lines:
        return self

    def __next__(self) -> str:
        line = self._back.popleft() if self._back else self._stream.readline(MAX_ROW_CHARS)
        if not line:
            self.ended = True
            raise StopIteration
        self.row.append(line)
        self.size += len(line)
        if self.size > MAX_ROW_CHARS:
            raise _TooLongError
        if len(self.row) > MAX_ROW_LINES:
            raise _TooLongError
        return line

    def begin(self) -> None:
        self.row = []
        self.size = 0
        self.ended = False

    def give_back(self) -> None:
        """All lines of this row but its first are to be read again."""
        self._back.extendleft(reversed(self.row[1:]))


class _TooLongError(Exception):
    pass


def rows(stream: TextIO, delimiter: str) -> Iterator[Raw]:
    """Every row, blank ones too (no cells). A quotation mark out of order breaks its own row only."""
    lines = _Lines(stream)
    number = 0
    csv.field_size_limit(MAX_ROW_CHARS)
    reader = csv.reader(lines, delimiter=delimiter, strict=True)
    while True:
        lines.begin()
        number += 1
        try:
            cells = next(reader)
        except StopIteration:
            return
        except (_TooLongError, csv.Error):
            cells = None
        if cells is None or lines.ended:
            if lines.size > MAX_ROW_CHARS:
                raise InputError(f"Row {number} holds more than {MAX_ROW_CHARS // 1_000_000} million characters.")
            first = lines.row[0] if lines.row else ""
            lines.give_back()
            reader = csv.reader(lines, delimiter=delimiter, strict=True)
            yield Raw(number, [c.strip('"') for c in first.rstrip("\r\n").split(delimiter)], True)
        else:
            yield Raw(number, cells)


def find_delimiter(sample: str, known: frozenset[str]) -> str:
    """The delimiter by which most of the known headings appear in one of the first rows; else most columns."""
    best, score = ",", (0, 1)
    for delimiter in DELIMITERS:
        try:
            head = list(csv.reader(sample.splitlines(keepends=True)[:HEADING_WITHIN], delimiter=delimiter))
        except csv.Error:
            continue
        matched = max((sum(_fold(c) in known for c in row) for row in head), default=0)
        wide = max((len(row) for row in head), default=0)
        if (matched, wide) > score:
            best, score = delimiter, (matched, wide)
    return best


def heading_row(first: Sequence[Raw], known: frozenset[str]) -> Raw | None:
    """The row of headings among the first ones: the one with most known headings, or else the first that is not
    blank, a title over the sheet, or the line `sep=;` that a spreadsheet program writes."""
    filled = [r for r in first if any(c.strip() for c in r.cells) and not r.cells[0].lower().startswith("sep=")]
    if not filled:
        return None
    most = max(sum(1 for c in r.cells if c.strip()) for r in filled)
    wide = [r for r in filled if sum(1 for c in r.cells if c.strip()) * 2 >= most]
    best = max(filled, key=lambda r: (sum(_fold(c) in known for c in r.cells), -r.number))
    return best if sum(_fold(c) in known for c in best.cells) >= 2 else wide[0]


def _fold(text: str) -> str:
    return " ".join(text.casefold().split())
