"""Cells that are merged: found without reading the rows before them, and what they mean for the rows."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from bridge.read.fault import Fault
from bridge.read.rows import Raw, Span
from bridge.read.xlsx.package import Part, damaged

_WIDEST = 2_000
MAX_SPANS = 500_000
MAX_AT_ONCE = 2_000
"""Merged cells that may cover one row."""
_CHUNK = 1 << 18
_END = re.compile(rb"</(?:\w+:)?sheetData\s*>|<(?:\w+:)?sheetData\s*/>")
_MERGED = re.compile(rb'<(?:\w+:)?mergeCell\s[^>]*?ref="\$?([A-Z]{1,3})\$?(\d{1,7}):\$?([A-Z]{1,3})\$?(\d{1,7})"')
_LONGEST = 200
"""Bytes that the pieces looked for may be long."""


def merged_cells(part: Part, file: str) -> list[Span]:
    """The merged cells of a worksheet, from the top. They stand behind the rows, which are only skimmed here."""
    found: list[Span] = []
    behind, kept = False, b""
    while chunk := part.read(_CHUNK):
        text = kept + chunk
        start = 0
        if not behind and b"sheetData" in text and (end := _END.search(text)):
            behind, start = True, end.end()
        if behind:
            for match in _MERGED.finditer(text, start):
                found.append(Span(int(match[2]), _number(match[1]), int(match[4]), _number(match[3])))
                start = match.end()
            if len(found) > MAX_SPANS:
                raise damaged(file)
        kept = text[max(start, len(text) - _LONGEST) :]
    return sorted(s for s in found if s.top <= s.bottom and s.left <= s.right)


def _number(letters: bytes) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + letter - 64
    return number


class Covered:
    """Tells of each row which of its cells lie under a value that stands in another cell."""

    def __init__(self, spans: Sequence[Span], file: str) -> None:
        self._spans, self._file = spans, file
        self._next = 0
        self._active: list[Span] = []

    def told(self, raw: Raw) -> Raw:
        """The row, with a fault for each cell that is covered by a merged one which has a value. Rows come in order."""
        if not self._active and (self._next >= len(self._spans) or self._spans[self._next].top > raw.number):
            return raw
        self._active = [s for s in self._active if s.bottom >= raw.number]
        while self._next < len(self._spans) and self._spans[self._next].top <= raw.number:
            span = self._spans[self._next]
            self._next += 1
            own = raw.cells[span.left - 1] if span.left <= len(raw.cells) else ""
            if span.top == raw.number and own.strip():  # the row of an earlier one was blank, and not given
                self._active.append(span)
        if len(self._active) > MAX_AT_ONCE:
            raise damaged(self._file)
        faults = [
            (column, _covered(span))
            for span in self._active
            for column in range(span.left, min(span.right, _WIDEST) + 1)
            if (raw.number, column) != (span.top, span.left)
        ]
        return replace(raw, faults=(*raw.faults, *faults)) if faults else raw


def _covered(span: Span) -> Fault:
    told = f"The cell is merged with others; what stands there counts for its first cell only, in row {span.top}."
    return Fault("R144", told, "merged")
