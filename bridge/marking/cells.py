"""Cells as text that no spreadsheet program runs, and notes of a size that can be read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from bridge.issues import Issue
from bridge.marking.marks import AUTHOR, colour_of, lines_in, note_of, safe

FORMULA_STARTS = ("=", "+", "-", "@", "\t")
ROW_LINE, HIGHEST = 15, 400
NOTE_WIDTH, NOTE_LETTERS, NOTE_LINE = 420, 62, 19
"""Width of a note, letters that a line of it holds, height of a line."""


@dataclass(frozen=True, slots=True)
class Spec:
    """One cell to write."""

    text: str | int = ""
    colour: str = ""
    bold: bool = False
    wrap: bool = False
    link: str = ""
    """Where a click leads: `'Sheet'!B4`."""
    book: str = ""
    """The file that the link leads into; empty for this one."""


def text_cell(sheet: Any, text: str | int) -> Any:
    """A cell that holds a number, or exactly this text, whatever it begins with."""
    from openpyxl.cell import WriteOnlyCell  # type: ignore[import-untyped]

    if isinstance(text, int):
        return WriteOnlyCell(sheet, text)
    cell = WriteOnlyCell(sheet, safe(text))
    if text:
        cell.data_type = "s"
        cell.number_format = "@"
        if text.startswith(FORMULA_STARTS):
            cell.quotePrefix = True
    return cell


def append(sheet: Any, specs: Sequence[Spec], row: int = 0, widths: Sequence[int] = ()) -> None:
    """One row at the end of a sheet, of a workbook held whole or of one written as it goes.

    With its number and the widths of the columns the row gets the height that its wrapped cells need.
    """
    from openpyxl.styles import Alignment, Font  # type: ignore[import-untyped]
    from openpyxl.worksheet.hyperlink import Hyperlink  # type: ignore[import-untyped]

    wrapped = [(str(s.text), width) for s, width in zip(specs, widths, strict=False) if s.wrap and s.text]
    if row and (lines := max((lines_in(text, width) for text, width in wrapped), default=1)) > 1:
        sheet.row_dimensions[row].height = min(lines * ROW_LINE, HIGHEST)
    cells = []
    for spec in specs:
        cell = text_cell(sheet, spec.text)
        if spec.colour:
            cell.fill = fill(spec.colour)
        if spec.bold or spec.link:
            cell.font = Font(bold=spec.bold, underline="single" if spec.link else None)
        cell.alignment = Alignment(vertical="top", wrap_text=spec.wrap)
        if spec.link:
            cell.hyperlink = Hyperlink(ref="A1", location=spec.link, target=spec.book or None)
        cells.append(cell)
    sheet.append(cells)
    for cell in cells:
        if cell.hyperlink:
            cell.hyperlink.ref = cell.coordinate


def fill(colour: str) -> Any:
    from openpyxl.styles import PatternFill

    return PatternFill("solid", fgColor=colour)


def mark(cell: Any, issues: Sequence[Issue]) -> None:
    """Colours a cell and puts its note on it, below a note that somebody else left there."""
    from openpyxl.comments import Comment  # type: ignore[import-untyped]

    text = note_of(issues)
    if cell.comment is not None and cell.comment.text.strip():
        text = safe(f"{cell.comment.text.rstrip()}\n\n{text}")
    height = NOTE_LINE * (lines_in(text, NOTE_LETTERS) + 1)
    cell.comment = Comment(text, AUTHOR, width=NOTE_WIDTH, height=min(height, 900))
    cell.fill = fill(colour_of(issues))


def in_quotes(sheet: str) -> str:
    """A sheet's name as a link spells it."""
    return "'" + sheet.replace("'", "''") + "'"


def letters(column: int) -> str:
    from openpyxl.utils import get_column_letter  # type: ignore[import-untyped]

    return str(get_column_letter(column))
