"""Issues and tables for the tests of marking."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from openpyxl import load_workbook

from bridge.issues import Issue, Where, issue


@dataclass
class Line:
    number: int
    cells: list[str]


@dataclass
class Lines:
    """A table as the reading room hands it over."""

    lines: list[Line]
    sheet: str = ""
    names: list[str] | None = None

    def rows(self) -> list[Line]:
        return self.lines


def table(*rows: Sequence[str], sheet: str = "") -> Lines:
    return Lines([Line(number, list(cells)) for number, cells in enumerate(rows, 1)], sheet)


def found(
    rule: str = "M101",
    row: int | None = 2,
    column: int | None = 1,
    file: str = "a.csv",
    sheet: str = "",
    told: str = "",
) -> Issue:
    heading = "R wax" if column else ""
    return issue(rule, told or "“chocka” is unknown.", Where(file, sheet, row, column, heading, record="V1"))


def opened(content: bytes) -> Any:
    return load_workbook(io.BytesIO(content))


def notes(sheet: Any) -> dict[str, str]:
    return {cell.coordinate: cell.comment.text for row in sheet.iter_rows() for cell in row if cell.comment}


def colour(cell: Any) -> str:
    return str(cell.fill.fgColor.rgb)[-6:] if cell.fill.patternType else ""
