"""The workbook of a re-coding sheet: instructions, the lines with lists to choose from, and every meaning."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from itertools import groupby
from typing import Any

from bridge.marking.cells import Spec, append, in_quotes, letters
from bridge.marking.seal import saved
from bridge.recoding import (
    ANSWERS,
    CANNOT_TELL,
    EAR,
    EARS_MEANT,
    HEADINGS,
    HOW,
    INSTRUCTIONS,
    LINES,
    MEANING,
    MEANINGS,
    NONE_FITS,
    SAID,
    SAYINGS,
    Asked,
    RecodingSheet,
)

_WIDTHS = (16, 26, 44, 14, 40, 30, 12, 20)
_HEAD, _ANSWER = "D9D9D9", "E2EFDA"
_MOST_RANGES = 100
"""Ranges of cells that one list is for; spreadsheet programs have limits there."""
_THEN = datetime(1980, 1, 1)
_MEANINGS = ("Field", "Meaning", "Some words for it")


def recoding_book(sheet: RecodingSheet) -> bytes:
    """The file: no macros, no formulas, nothing locked, the same bytes for the same sheet."""
    from openpyxl import Workbook  # type: ignore[import-untyped]

    book = Workbook()
    book.properties.created = _THEN
    book.properties.creator = "visit-bridge"
    how = book.active
    how.title = HOW
    lines, meanings = book.create_sheet(LINES), book.create_sheet(MEANINGS)
    _write_how(how, sheet)
    ranges = _write_meanings(meanings, sheet)
    _write_lines(lines, sheet, ranges)
    book.active = 0
    return saved(book)


def _write_how(page: Any, sheet: RecodingSheet) -> None:
    page.column_dimensions["A"].width = 110
    told = [f"Re-coding sheet {sheet.name}, {len(sheet.lines)} lines", *INSTRUCTIONS]
    for row, line in enumerate(told, 1):
        append(page, [Spec(line, bold=row == 1, wrap=True)], row, (110,))


def _write_meanings(page: Any, sheet: RecodingSheet) -> dict[str, str]:
    """Fills the list; the cells of each kind's choices as a list refers to them."""
    widths = (30, 44, 90)
    for column, width in enumerate(widths, 1):
        page.column_dimensions[letters(column)].width = width
    page.freeze_panes = "A2"
    append(page, [Spec(name, _HEAD, bold=True) for name in _MEANINGS])
    fields = {asked.kind: asked.field for asked in sheet.lines}
    ranges, row = {}, 2
    for kind, choices in sheet.choices.items():
        listed = [(c.shown, ", ".join(c.words)) for c in choices]
        listed += [(NONE_FITS, "no meaning of this list fits"), (CANNOT_TELL, "the words do not say enough")]
        ranges[kind] = f"{in_quotes(MEANINGS)}!$B${row}:$B${row + len(listed) - 1}"
        for shown, words in listed:
            append(page, [Spec(fields[kind]), Spec(shown, wrap=True), Spec(words, wrap=True)], row, widths)
            row += 1
    return ranges


def _write_lines(page: Any, sheet: RecodingSheet, ranges: dict[str, str]) -> None:
    for column, width in enumerate(_WIDTHS, 1):
        page.column_dimensions[letters(column)].width = width
    page.freeze_panes = "D2"
    append(page, [Spec(name, _ANSWER if name in ANSWERS else _HEAD, bold=True) for name in HEADINGS])
    for row, asked in enumerate(sheet.lines, 2):
        append(page, _cells(asked), row, _WIDTHS)
    rows: dict[str, list[int]] = {}
    for row, asked in enumerate(sheet.lines, 2):
        rows.setdefault(asked.kind, []).append(row)
    for kind, its in rows.items():
        _choose(page, MEANING, ranges[kind], its)
    _choose(page, SAID, _listed(SAYINGS), [row for row, asked in enumerate(sheet.lines, 2) if asked.assertable])
    _choose(page, EAR, _listed(EARS_MEANT), list(range(2, len(sheet.lines) + 2)))


def _cells(asked: Asked) -> list[Spec]:
    told = [Spec(asked.line), Spec(asked.field, wrap=True), Spec(asked.words, wrap=True), Spec(asked.under)]
    return [
        *told,
        Spec("", _ANSWER),
        Spec("", _ANSWER),
        Spec("", _ANSWER if asked.assertable else ""),
        Spec("", _ANSWER),
    ]


def _listed(options: Any) -> str:
    return '"' + ",".join(options) + '"'


def _choose(page: Any, heading: str, source: str, rows: list[int]) -> None:
    """A list to choose from under a heading; what is typed beside it is told when the sheet is read."""
    from openpyxl.worksheet.datavalidation import DataValidation  # type: ignore[import-untyped]

    column = letters(HEADINGS.index(heading) + 1)
    together = [f"{column}{first}:{column}{last}" for first, last in _runs(rows)]
    for at in range(0, len(together), _MOST_RANGES):
        ranges = " ".join(together[at : at + _MOST_RANGES])
        page.add_data_validation(
            DataValidation(type="list", formula1=source, allow_blank=True, showErrorMessage=False, sqref=ranges)
        )


def _runs(rows: list[int]) -> Iterator[tuple[int, int]]:
    """First and last of rows that follow one another."""
    for _, run in groupby(enumerate(rows), key=lambda one: one[1] - one[0]):
        its = [row for _, row in run]
        yield its[0], its[-1]
