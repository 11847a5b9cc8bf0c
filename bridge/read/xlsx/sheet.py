"""The rows of one worksheet."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Any

from bridge.issues import Issue
from bridge.layout.tables import cell_words
from bridge.read.fault import Fault
from bridge.read.rows import Raw, Span
from bridge.read.xlsx.formats import PLAIN, Shown
from bridge.read.xlsx.merged import Covered, merged_cells
from bridge.read.xlsx.package import Package, damaged
from bridge.read.xlsx.stored_rows import stored_rows
from bridge.read.xlsx.texts import LONGEST, Texts, unescape
from bridge.read.xlsx.values import plain_number, shown_text

MAX_COLUMNS = 2_000
"""Columns that are read; the widest sheets of practices have a few hundred."""
_SMALL_GAP = 1_000
"""Rows left out of the file that are given as blank rows; a larger gap is passed over."""
_REMEMBERED = 20_000
_LETTERS = re.compile(r"[A-Z]{1,3}")

Faults = list[tuple[int, Fault]]


class WorkbookTable:
    """One worksheet. Its numbers of rows and columns are those that the person's own program shows."""

    typed = True
    names: list[str] | None = None

    def __init__(
        self, package: Package, part: str, title: str, hidden: bool, texts: Texts, styles: Sequence[Shown], epoch: int
    ) -> None:
        self.file, self.title, self.sheet, self.hidden, self.epoch = package.file, title, title, hidden, epoch
        self.issues: list[Issue] = []
        self._package, self._part, self._texts, self._styles = package, part, texts, styles
        self._columns: dict[str, int] = {}
        self._numbers: dict[tuple[str, str], tuple[str, Fault | None]] = {}
        self._spans: list[Span] | None = None

    def spans(self) -> Sequence[Span]:
        """Cells that are merged."""
        if self._spans is None:
            with self._package.open(self._part) as stream:
                self._spans = merged_cells(stream, self.file)
        return self._spans

    def rows(self) -> Iterator[Raw]:
        """Every row from the top. Blank rows at the end, which are only formatted, are left out."""
        covered = Covered(self.spans(), self.file)
        last, filled = 0, 0
        with self._package.open(self._part) as stream:
            for said, stored in stored_rows(stream, self.file):
                number = last + 1 if said is None else int(said) if said.isdecimal() and len(said) < 8 else 0
                if number <= last:
                    raise damaged(self.file)
                last = number
                raw = self._row(stored, number)
                if raw.blank and not raw.faults:
                    continue
                if number - filled <= _SMALL_GAP:
                    yield from (Raw(blank, []) for blank in range(filled + 1, number))
                filled = number
                yield covered.told(raw)

    def _row(self, stored: Sequence[Any], number: int) -> Raw:
        # Written for speed: this runs once for every cell of the workbook.
        cells: list[str] = []
        faults: Faults = []
        at, row, names, get, known = -1, str(number), _NAMES, self._texts.get, self._texts.known
        for cell in stored:
            place, kind, value = cell[1], cell[3], cell[4]
            at += 1
            if place is not None and (at >= MAX_COLUMNS or place != names[at] + row):
                at = self._column(place, row)
            if kind == "s":
                text = known.get(value) or (get(value) if value else "")
            elif kind == "inlineStr":
                text = unescape(cell[5] or "")[:LONGEST]
            elif value or len(cell) > 6:
                text = self._text(cell, at + 1, faults)
            else:
                continue
            if not text:
                continue
            if at >= MAX_COLUMNS:
                faults = [f for f in faults if f[0]] + [(0, _far_out())]
            elif at < len(cells):
                if cells[at]:
                    raise damaged(self.file)  # two cells at one place
                cells[at] = text
            else:
                if at > len(cells):
                    cells.extend([""] * (at - len(cells)))
                cells.append(text)
        return Raw(number, cells, faults=tuple(faults))

    def _column(self, place: str, row: str) -> int:
        letters = place.removesuffix(row)
        known = self._columns.get(letters)
        if known is None:
            if not _LETTERS.fullmatch(letters):
                raise damaged(self.file)
            known = column_number(letters) - 1
            self._columns[letters] = known
        return known

    def _text(self, cell: Sequence[Any], column: int, faults: Faults) -> str:
        style, kind, stored = cell[2:5]
        if not stored:
            nothing = kind == "str" and stored is not None  # a formula that comes to no text
            if len(cell) > 6 and cell[6] and not nothing:
                told = "The cell holds a formula, and the file does not keep what it comes to."
                faults.append((column, Fault("R142", told, "formula")))
            return ""
        if not kind or kind == "n":
            return self._number(stored, style, column, faults)
        if kind == "b":
            return "yes" if stored.strip() in ("1", "true") else "no"
        if kind == "e":
            named = stored if stored in cell_words()["spreadsheet error"] else "that its program could not work it out"
            faults.append((column, Fault("R143", f"The cell shows the error {named}.", named)))
            return str(stored)
        return _iso(stored) if kind == "d" else unescape(stored)

    def _number(self, stored: str, style: str | None, column: int, faults: Faults) -> str:
        if not style or style == "0":
            shown = self._styles[0] if self._styles else PLAIN
        else:
            shown = self._styles[int(style)] if style.isdecimal() and int(style) < len(self._styles) else PLAIN
        if shown is PLAIN:
            return plain_number(stored)
        key = (stored, style or "")
        found = self._numbers.get(key)
        if found is None:
            if len(self._numbers) >= _REMEMBERED:
                self._numbers.clear()
            found = self._numbers[key] = shown_text(stored, shown, self.epoch)
        if found[1]:
            faults.append((column, found[1]))
        return found[0]


def column_letters(number: int) -> str:
    """The letters of a column, by its number from 1."""
    letters = ""
    while number:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


_NAMES = tuple(column_letters(number) for number in range(1, MAX_COLUMNS + 1))


def column_number(letters: str) -> int:
    """The number, from 1, of a column named by letters."""
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number


def _far_out() -> Fault:
    told = f"Something stands to the right of the {MAX_COLUMNS:,} columns that are read."
    return Fault("R153", told, "far out")


def _iso(text: str) -> str:
    """A date that is stored as text, `2026-05-03T10:15:00`, as other dates are told."""
    found = re.fullmatch(r"(\d{4}-\d\d-\d\d)?T?(?:(\d\d:\d\d)(:\d\d)?(?:\.\d+)?)?Z?", text.strip())
    if not found:
        return text
    day, time = found[1] or "", (found[2] or "") + (found[3] if found[3] and found[3] != ":00" else "")
    return day if day and time == "00:00" else f"{day} {time}".strip()
