"""The sheet "Words": what got no code, with room for what the practice says that it means."""

from __future__ import annotations

import csv
import io
from datetime import datetime
from pathlib import Path
from typing import Any

from bridge.marking.cells import FORMULA_STARTS, Spec, append, letters
from bridge.marking.marks import safe
from bridge.marking.seal import saved
from bridge.words_asked import ANSWERS, HEADINGS, HOW, WordsAsked

NAME, MEANINGS = "Words", "Meanings"
_WIDTHS = (26, 26, 10, 34, 34, 44, 26, 30, 10, 12, 16)
_HEAD, _ANSWER = "D9D9D9", "E2EFDA"
_LEFT_OUT = "Words that are not listed because they may tell who a client is: {}. Your own records show them."
_THEN = datetime(1980, 1, 1)


def write_words(sheet: Any, asked: WordsAsked) -> None:
    """Fills an empty sheet; the cells to answer in are green."""
    for column, width in enumerate(_WIDTHS, 1):
        sheet.column_dimensions[letters(column)].width = width
    head = [*HOW, *([_LEFT_OUT.format(asked.left_out)] if asked.left_out else [])]
    sheet.freeze_panes = f"A{len(head) + 2}"
    for line in head:
        append(sheet, [Spec(line)])
    append(sheet, [Spec(name, _ANSWER if name in ANSWERS else _HEAD, bold=True) for name in HEADINGS])
    for row, word in enumerate(asked.words, len(head) + 2):
        cells = [
            Spec(text, _ANSWER if name in ANSWERS and word.kind else "", wrap=name not in ANSWERS)
            for name, text in zip(HEADINGS, word.cells(), strict=True)
        ]
        append(sheet, cells, row, _WIDTHS)
    if not asked.words:
        append(sheet, [Spec("Every word has its code.")])


def write_meanings(sheet: Any, asked: WordsAsked) -> None:
    """Fills an empty sheet with what can stand under "Means", field by field."""
    widths = (30, 40, 90)
    for column, width in enumerate(widths, 1):
        sheet.column_dimensions[letters(column)].width = width
    sheet.freeze_panes = "A2"
    append(sheet, [Spec(name, _HEAD, bold=True) for name in ("Field", "Meaning", "Some words for it")])
    for number, row in enumerate(asked.meanings, 2):
        append(sheet, [Spec(text, wrap=True) for text in row], number, widths)


def add_words(book: Any, asked: WordsAsked, names: tuple[str, str] = (NAME, MEANINGS)) -> None:
    """Both sheets, behind those that are there."""
    write_words(book.create_sheet(names[0]), asked)
    if asked.meanings:
        write_meanings(book.create_sheet(names[1]), asked)


def words_book(asked: WordsAsked) -> bytes:
    """The file of a workbook that holds this sheet alone."""
    from openpyxl import Workbook  # type: ignore[import-untyped]

    book = Workbook(write_only=True)
    book.properties.created = _THEN
    book.properties.creator = "visit-bridge"
    add_words(book, asked)
    return saved(book)


def words_csv(asked: WordsAsked) -> bytes:
    """The sheet as CSV in UTF-8 with a mark, which spreadsheet programs know it by."""
    page = io.StringIO(newline="")
    writer = csv.writer(page)
    writer.writerow(HEADINGS)
    writer.writerows([_harmless(cell) for cell in word.cells()] for word in asked.words)
    return page.getvalue().encode("utf-8-sig", "replace")


def unanswered_csv(path: Path) -> bool:
    """Whether a CSV file is a sheet of ours in which nobody has answered yet."""
    try:
        with path.open(encoding="utf-8-sig", newline="") as stream:
            rows = list(csv.reader(stream, strict=True))
    except (OSError, UnicodeDecodeError, csv.Error):
        return False
    at = [HEADINGS.index(name) for name in ANSWERS]
    return (
        bool(rows)
        and tuple(rows[0]) == HEADINGS
        and all(len(row) == len(HEADINGS) and not any(row[i].strip() for i in at) for row in rows[1:])
    )


def _harmless(cell: str | int) -> str:
    """An apostrophe goes before what a spreadsheet program would run as a formula."""
    text = " ".join(safe(str(cell)).split())
    return f"'{text}" if text.startswith(FORMULA_STARTS) else text
