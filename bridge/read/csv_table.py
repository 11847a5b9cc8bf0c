"""The table of a CSV file, each row with its number as a spreadsheet counts it. The file is never held whole."""

from __future__ import annotations

import csv
from collections import deque
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TextIO

from bridge.errors import InputError
from bridge.issues import Issue, Where, issue
from bridge.layout.tables import fold
from bridge.read.headings import HEADING_WITHIN
from bridge.read.rows import Raw, Span
from bridge.read.source import Encoding, find_encoding, open_text
from bridge.text_mark import unmarked

DELIMITERS = (",", ";", "\t", "|")
MAX_ROW_LINES = 500
"""More lines in one row than this, and a quotation mark was not closed."""
MAX_ROW_CHARS = 64_000_000
SAMPLE = 65_536


class CsvTable:
    """The one table of a CSV file."""

    sheet = title = ""
    typed = hidden = False
    names: list[str] | None = None
    epoch = 1900

    def __init__(self, path: Path, encoding: Encoding, delimiter: str) -> None:
        self.file = path.name
        self.issues: list[Issue] = []
        self._path, self._encoding, self._delimiter = path, encoding, delimiter
        if encoding.guessed:
            self.issues.append(issue("R210", f"The file was read as {encoding.name}.", Where(path.name)))

    def spans(self) -> Sequence[Span]:
        return ()

    def rows(self) -> Iterator[Raw]:
        """Every row from the top, blank ones too."""
        with open_text(self._path, self._encoding) as stream:
            yield from rows(stream, self._delimiter)


def open_csv(path: Path, encoding: str, delimiter: str, known: frozenset[str]) -> CsvTable:
    """The table of a CSV file, with the encoding and the delimiter found out where they are `auto`."""
    found = find_encoding(path, encoding)
    if delimiter == "auto":
        with open_text(path, found) as stream:
            delimiter = find_delimiter(stream.read(SAMPLE), known)
    return CsvTable(path, found, delimiter)


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
            yield Raw(number, [unmarked(cell) if cell[:1] == "'" else cell for cell in cells])


def find_delimiter(sample: str, known: frozenset[str]) -> str:
    """The delimiter by which most of the known headings appear in one of the first rows; else most columns."""
    best, score = ",", (0, 1)
    for delimiter in DELIMITERS:
        try:
            head = list(csv.reader(sample.splitlines(keepends=True)[:HEADING_WITHIN], delimiter=delimiter))
        except csv.Error:
            continue
        matched = max((sum(fold(c) in known for c in row) for row in head), default=0)
        wide = max((len(row) for row in head), default=0)
        if (matched, wide) > score:
            best, score = delimiter, (matched, wide)
    return best
