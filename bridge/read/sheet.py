"""A table opened with its layout: headings matched to columns, and its rows of visits, others left alone."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain

from bridge.errors import InputError
from bridge.issues import Issue, Severity, Where, issue
from bridge.layout import Column, Layout, Target, extra_headings, told_apart
from bridge.layout.formats import months
from bridge.layout.tables import cell_words, fold
from bridge.read.fault import cut
from bridge.read.headings import heading
from bridge.read.rows import Raw, Table

_DASHES = re.compile(r"[-–—_=*~.·•#+|\s]{3,}|[-–—_]")
_YEAR = re.compile(r"(19|20)\d\d")
FEW = 5
"""Missing columns that are named one by one; most of them missing is another sheet."""


@dataclass(frozen=True, slots=True)
class Bound:
    """A target of the layout at its column in this sheet (from 0)."""

    at: int
    heading: str
    target: Target


@dataclass(slots=True)
class Sheet:
    """What is known of a sheet before its rows are read."""

    table: Table
    headings: list[str]
    heading_number: int
    bound: list[Bound]
    issues: list[Issue]

    @property
    def usable(self) -> bool:
        return all(i.severity < Severity.error for i in self.issues)

    def make(self, row: int, column: int) -> Where:
        """The place of a cell; column 0 is the row as a whole."""
        name = self.headings[column - 1] if 0 < column <= len(self.headings) else ""
        table = self.table
        unseen = table.names is not None
        return Where(table.file, table.sheet, row or None, column or None, name, unseen=unseen)

    def rows(self) -> Iterator[Raw]:
        """The rows below the headings."""
        for raw in self.table.rows():
            if raw.number > self.heading_number:
                yield raw


def open_sheet(table: Table, layout: Layout) -> Sheet:
    """The sheet with its headings bound to the layout's columns, and what does not fit (R207 to R209)."""
    headings, first = heading(table, known_headings(layout), layout.heading_rows)
    if not headings:
        raise InputError(f"{table.file} holds no rows.", "Check that the right file was saved.")
    sheet = Sheet(table, headings, first - 1, [], [])
    _bind(sheet, layout)
    sheet.issues += table.issues
    return sheet


def known_headings(layout: Layout) -> frozenset[str]:
    """The layout's headings as they are compared."""
    return frozenset(fold(c.heading) for c in layout.columns)


def _bind(sheet: Sheet, layout: Layout) -> None:
    at: dict[str, list[int]] = {}
    names = told_apart(sheet.headings, layout)
    for index, name in enumerate(names):
        if name:
            at.setdefault(fold(name), []).append(index)
    where = sheet.make(sheet.heading_number, 0)
    needed = [c for c in layout.columns if not c.optional]
    missing = [c for c in needed if fold(c.heading) not in at]
    other_sheet = len(missing) > max(FEW, len(needed) // 2)
    if other_sheet:
        sheet.issues.append(issue("R208", _another_sheet(missing, needed, layout), where))
    for column in layout.columns:
        found = at.get(fold(column.heading), [])
        if len(found) > 1 and column.targets:
            told = f"The heading “{cut(column.heading)}” stands in columns {found[0] + 1} and {found[1] + 1}."
            sheet.issues.append(issue("R209", told, where))
        elif not found and not column.optional and not other_sheet:
            sheet.issues.append(issue("R208", _missing(column, sheet.headings), where))
        sheet.bound += [Bound(index, column.heading, target) for index in found[:1] for target in column.targets]
    for name in () if other_sheet else dict.fromkeys(extra_headings(sheet.headings, layout)):
        told = f"The layout does not name the column “{cut(name)}”."
        index = names.index(name) + 1
        sheet.issues.append(issue("R207", told, sheet.make(sheet.heading_number, index)))


def _another_sheet(missing: list[Column], needed: list[Column], layout: Layout) -> str:
    few = ", ".join(f"“{cut(c.heading)}”" for c in missing[:FEW])
    return (
        f"This is another kind of sheet, or its headings stand elsewhere: {len(missing)} of the {len(needed)} columns"
        f" that the layout “{cut(layout.name)}” needs are missing, among them {few}."
    )


def _missing(column: Column, headings: list[str]) -> str:
    folded = {fold(h): h for h in headings if h}
    near = difflib.get_close_matches(fold(column.heading), folded, 3, 0.6)
    told = f" Near it: {', '.join(f'“{cut(folded[n])}”' for n in near)}." if near else ""
    return f"The sheet has no column “{cut(column.heading)}”.{told}"


def left_alone(raw: Raw, headings: list[str], needed: list[int]) -> str:
    """Why a row is no record: blank, the headings again, a sum below the rows; empty where it is one.

    `needed`: columns of the visit's number, date and client; a sum has at most one of them filled, beside its own word.
    """
    filled = [c for c in raw.cells if c.strip()]
    if not filled:
        return "blank row"
    if len(filled) > 1 and all(fold(c) == fold(h) for c, h in zip(raw.cells, headings, strict=False)):
        return "headings again"
    if all(_DASHES.fullmatch(c.strip()) for c in filled):
        return "line between rows"
    if len(filled) == 1 and (why := _lonely(filled[0])):
        return why
    if fold(filled[0]).rstrip(":") in cell_words()["total"]:
        have = [raw.cells[at] for at in needed if at < len(raw.cells) and raw.cells[at].strip()]
        if sum(cell != filled[0] for cell in have) <= 1:
            return "sum below the rows"
    return ""


def _lonely(text: str) -> str:
    """Why a row with this cell alone is no record: a month, or what stands below a list."""
    words = re.sub(r"[.,:/]", " ", fold(text)).split()
    month = any(w in months() for w in words)
    if month and len(words) <= 2 and all(w in months() or _YEAR.fullmatch(w) for w in words):
        return "heading between rows"
    below = cell_words()["below"]
    if any(words[: len(b.split())] == b.split() for b in below) and not any(c.isdigit() for c in words[0]):
        return "note below the rows"
    return ""


def needed_columns(sheet: Sheet) -> list[int]:
    """Columns of the visit's number, its date, and the client."""
    paths = ("number", "start", "client.")
    return sorted({b.at for b in sheet.bound if b.target.field.path.startswith(paths)})


def ragged(raw: Raw, headings: list[str], *, short: bool) -> tuple[str, str] | None:
    """Rule and message for a row that has more or fewer cells than there are headings. `short`: rows of this form end
    at their last filled cell."""
    size, wanted = len(raw.cells), len(headings)
    if size > wanted and any(c.strip() for c in raw.cells[wanted:]):
        return "R121", f"The row has {size} cells, and there are {wanted} headings; some may be in the wrong column."
    if size < wanted and not short and any(h for h in headings[size:]):
        return "R122", f"The row has {size} cells only, and there are {wanted} headings; the rest is taken as empty."
    return None


def flat(cells: list[str], headings: list[str]) -> str:
    """Headings and cells in order, for the record's hash."""
    return "\x1f".join(chain(headings, cells, [""] * (len(headings) - len(cells))))
