"""Makes sources of every kind with the same content, and workbooks part by part for what no program would write."""

from __future__ import annotations

import csv
import io
import json
import sqlite3
import zipfile
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from openpyxl import Workbook

Grid = Sequence[Sequence[str]]
"""Headings and rows."""


def grid_of(content: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(content, newline="")))


def as_workbook(path: Path, grid: Grid) -> Path:
    book = Workbook(write_only=True)
    sheet = book.create_sheet("Visits")
    for row in grid:
        sheet.append([cell or None for cell in row])
    book.save(path)
    return path


def as_json(path: Path, grid: Grid) -> Path:
    path.write_text(json.dumps(_objects(grid), ensure_ascii=False), encoding="utf-8")
    return path


def as_lines(path: Path, grid: Grid) -> Path:
    path.write_text("".join(json.dumps(o, ensure_ascii=False) + "\n" for o in _objects(grid)), encoding="utf-8")
    return path


def as_keyed_json(path: Path, grid: Grid) -> Path:
    data = {"made by": "another program", "records": _objects(grid), "counts": [1, 2]}
    path.write_text(json.dumps(data, ensure_ascii=False, indent=1), encoding="utf-8")
    return path


def as_database(path: Path, grid: Grid) -> Path:
    head, *rows = grid
    columns = ", ".join('"' + name.replace('"', '""') + '" TEXT' for name in head)
    with sqlite3.connect(path) as connection:
        connection.execute(f"CREATE TABLE visits ({columns})")
        marks = ", ".join("?" * len(head))
        whole = [[*row, *[""] * (len(head) - len(row))] for row in rows]
        connection.executemany(f"INSERT INTO visits VALUES ({marks})", whole)  # noqa: S608
    connection.close()
    return path


def _objects(grid: Grid) -> list[dict[str, str | None]]:
    head, *rows = grid
    return [{name: cell or None for name, cell in zip(head, row, strict=False)} for row in rows]


OTHER_FORMS: dict[str, tuple[str, Callable[[Path, Grid], Path]]] = {
    "workbook": ("other.xlsx", as_workbook),
    "json": ("other.json", as_json),
    "json under a key": ("keyed.json", as_keyed_json),
    "one object a line": ("other.ndjson", as_lines),
    "database": ("other.db", as_database),
}
"""File name and writer of each form that is not CSV."""

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006/relationships"


def parts(
    rows: str, *, behind: str = "", styles: str = "", texts: str = "", state: str = "visible", settings: str = ""
) -> dict[str, str]:
    """The parts of a workbook with one sheet, whose rows and what stands behind them are given as XML."""
    found = {
        "[Content_Types].xml": "<Types/>",
        "_rels/.rels": _relations(("r1", "officeDocument", "xl/workbook.xml")),
        "xl/workbook.xml": f'<workbook xmlns="{MAIN}" xmlns:r="{OFFICE}"><workbookPr {settings}/><sheets>'
        f'<sheet name="Visits" sheetId="1" state="{state}" r:id="s1"/></sheets></workbook>',
        "xl/_rels/workbook.xml.rels": _relations(
            ("s1", "worksheet", "worksheets/sheet1.xml"),
            ("s2", "styles", "styles.xml"),
            ("s3", "sharedStrings", "sharedStrings.xml"),
        ),
        "xl/worksheets/sheet1.xml": f'<worksheet xmlns="{MAIN}"><sheetData>{rows}</sheetData>{behind}</worksheet>',
    }
    if styles:
        found["xl/styles.xml"] = f'<styleSheet xmlns="{MAIN}">{styles}</styleSheet>'
    if texts:
        found["xl/sharedStrings.xml"] = f'<sst xmlns="{MAIN}">{texts}</sst>'
    return found


def _relations(*found: tuple[str, str, str]) -> str:
    inner = "".join(f'<Relationship Id="{i}" Type="{OFFICE}/{kind}" Target="{to}"/>' for i, kind, to in found)
    return f'<Relationships xmlns="{PACKAGE}">{inner}</Relationships>'


def pack(path: Path, found: Mapping[str, str | bytes]) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, content in found.items():
            packed.writestr(name, content)
    return path
