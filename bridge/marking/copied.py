"""A copy of a workbook with its doubtful cells marked, and the sheets "To do" and "Words" in front."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from bridge.errors import InputError
from bridge.issues import Issue
from bridge.marking.cells import mark
from bridge.marking.marks import AUTHOR, COLOURS, Spot, marks_of
from bridge.marking.seal import MAKER, saved
from bridge.marking.to_do import NAME, Place, in_this_book, write_to_do
from bridge.marking.words_sheet import MEANINGS, add_words
from bridge.marking.words_sheet import NAME as WORDS_NAME
from bridge.words_asked import WordsAsked

_OURS = re.compile(r"(?:\A|\n\n)(?:ERROR|CHECK|NOTE) \([A-Z]\d{3}\)\n.*", re.DOTALL)
_MACROS = "Macros are kept in the copy as they are; nothing here has run them."


def copied(source: Path, told: Sequence[Issue], words: WordsAsked | None) -> tuple[bytes, dict[str, Place]]:
    """The file of the marked copy, and where each sheet, as issues name it, stands in it.

    `told`: the issues for "To do"; those of this source are marked in their cells.

    The source is only read; `lacking` has looked into it before. Raises InputError where it cannot be copied.
    """
    book = _opened(source)
    lines = [_MACROS] if book.vba_archive is not None else []
    _without_earlier_marks(book)
    marks = marks_of(told, source.name)
    places = {sheet: Place(name) for sheet in marks if (name := _name_of(book, sheet))}
    for named, cells in marks.items():
        if named in places:
            _mark_all(book[places[named].sheet], cells)
    first = book.create_sheet(_free(book, NAME), 0)
    write_to_do(first, told, in_this_book(places, source.name), lines)
    if words is not None:
        add_words(book, words, (_free(book, WORDS_NAME), _free(book, MEANINGS)))
    for sheet in book.worksheets:
        sheet.sheet_view.tabSelected = sheet is first
    book.active = 0
    if book.calculation is not None:
        book.calculation.fullCalcOnLoad = True
    content = saved(book)
    if book.vba_archive is not None:
        book.vba_archive.close()  # openpyxl keeps the macros in an archive of its own, and leaves it open
    return content, places


def _opened(source: Path) -> Any:
    import warnings

    from openpyxl import load_workbook  # type: ignore[import-untyped]

    try:
        with warnings.catch_warnings(), source.open("rb") as stream:
            warnings.simplefilter("ignore")  # what a copy will lack is told in our own words
            return load_workbook(stream, keep_vba=source.suffix.lower() == ".xlsm", rich_text=True)
    except Exception as error:
        raise InputError(
            f"{source.name} can be read, but not copied with its looks ({type(error).__name__}).",
            "Save it again with your spreadsheet program, or use check without --mark.",
        ) from None


def _name_of(book: Any, sheet: str) -> str:
    """The sheet as the workbook names it; without a name the first one that can be seen."""
    if sheet:
        return sheet if sheet in book.sheetnames and hasattr(book[sheet], "cell") else ""
    seen = [ws for ws in book.worksheets if ws.sheet_state == "visible"]
    return (seen or book.worksheets)[0].title if book.worksheets else ""


def _mark_all(sheet: Any, cells: Mapping[Spot, list[Issue]]) -> None:
    together = {
        (row, column): (block.min_row, block.min_col)
        for block in sheet.merged_cells.ranges
        for row, column in _inside(block, cells)
    }
    at_cell: dict[Spot, list[Issue]] = {}
    for spot, found in cells.items():
        at_cell.setdefault(together.get(spot, spot), []).extend(found)
    for (row, column), found in at_cell.items():
        mark(sheet.cell(row, column), sorted(found, key=lambda i: -i.severity))


def _inside(block: Any, cells: Mapping[Spot, list[Issue]]) -> list[Spot]:
    return [
        (row, column)
        for row, column in cells
        if block.min_row <= row <= block.max_row and block.min_col <= column <= block.max_col
    ]


def _without_earlier_marks(book: Any) -> None:
    """Takes our own marks and sheets out of a workbook that is a marked copy itself."""
    from openpyxl.comments import Comment  # type: ignore[import-untyped]
    from openpyxl.styles import PatternFill  # type: ignore[import-untyped]

    if MAKER not in book.custom_doc_props.names:
        return
    for name in (NAME, WORDS_NAME, MEANINGS):
        if name in book.sheetnames and len(book.sheetnames) > 1:
            del book[name]
    for sheet in book.worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.comment is None or not _OURS.search(cell.comment.text):
                    continue
                text = _OURS.sub("", cell.comment.text)
                cell.comment = Comment(text, cell.comment.author or AUTHOR) if text.strip() else None
                if str(cell.fill.fgColor.rgb)[-6:] in COLOURS.values():
                    cell.fill = PatternFill()


def _free(book: Any, name: str) -> str:
    """The name, or the name with a number where the workbook has such a sheet already."""
    taken = {n.casefold() for n in book.sheetnames}
    return next(n for n in (name, *(f"{name} {i}" for i in range(2, 1000))) if n.casefold() not in taken)
