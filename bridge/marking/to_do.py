"""The sheet "To do": every issue, the worst first, with a way to its cell."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, NamedTuple

from bridge.issues import Issue
from bridge.marking.cells import Spec, append, in_quotes, letters
from bridge.marking.marks import COLOURS, WORDS, worst_first

NAME = "To do"
TITLE = "What visit-bridge found in these records"
HEADINGS = ("How bad", "What was found", "What to do", "Rule", "File", "Sheet", "Row", "Column", "Visit")
WIDTHS = (10, 60, 60, 8, 22, 14, 8, 24, 16)
MOST_ROWS = 1_000_000
MOST_LINKS = 60_000
"""Spreadsheet programs take 65,530 links on a sheet."""
HOW = (
    "Mend your own records, not this copy, and run the same command again. A click on a row leads to its cell.",
    "This file holds client data, as your records do: keep it where they are kept, and delete it when you are done.",
)


class Place(NamedTuple):
    """A sheet of a workbook in which the cells of a source's sheet are marked."""

    sheet: str
    below: int = 0
    """How many rows lower a row stands in it: its headings are no row of the source."""
    book: str = ""
    """The workbook's file; empty for this one."""


Link = Callable[[Issue], Place | None]
"""Where the cell of an issue is marked; None where it is nowhere."""


def write_to_do(sheet: Any, issues: Sequence[Issue], link: Link, lines: Sequence[str] = ()) -> None:
    """Fills an empty sheet. `lines`: more that the person has to know about this workbook."""
    for name, width in zip("ABCDEFGHI", WIDTHS, strict=True):
        sheet.column_dimensions[name].width = width
    head = [Spec(TITLE, bold=True)], *([Spec(line)] for line in (*HOW, *lines))
    sheet.freeze_panes = f"A{len(head) + 2}"
    for line in head:
        append(sheet, line)
    append(sheet, [Spec(name, bold=True, colour="D9D9D9") for name in HEADINGS])
    ordered = worst_first(issues)
    links = 0
    for number, one in enumerate(ordered[:MOST_ROWS], len(head) + 2):
        place = link(one) if one.where.row is not None and links < MOST_LINKS else None
        links += 2 * bool(place)
        append(sheet, _row(one, place), number, WIDTHS)
    if len(ordered) > MOST_ROWS:
        append(sheet, [Spec(), Spec(f"And {len(ordered) - MOST_ROWS} more.")])
    if not ordered:
        append(sheet, [Spec(), Spec("Nothing was found.")])


def _row(one: Issue, place: Place | None) -> list[Spec]:
    where = one.where
    at = book = ""
    if place and where.row is not None:
        at = f"{in_quotes(place.sheet)}!{letters(where.column or 1)}{where.row + place.below}"
        book = place.book
    column = where.heading or (str(where.column) if where.column else "")
    return [
        Spec(WORDS[one.severity], COLOURS[one.severity]),
        Spec(one.message, wrap=True),
        Spec(one.help, wrap=True),
        Spec(one.rule),
        Spec(where.file),
        Spec(where.sheet),
        Spec("" if where.row is None else where.row, link=at, book=book),
        Spec(column, link=at if column else "", book=book),
        Spec(where.record),
    ]


def in_this_book(places: Mapping[str, Place], file: str) -> Link:
    """Links to sheets of the same workbook. `places`: by sheet as issues name it."""
    return lambda one: places.get(one.where.sheet) if one.where.file == file else None
