"""Workbooks read here and by two readers of others, openpyxl and python-calamine: the same cells at the same places."""

from __future__ import annotations

import datetime as dt
import re
import zipfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook, load_workbook
from openpyxl.cell.rich_text import CellRichText, TextBlock
from openpyxl.cell.text import InlineFont
from openpyxl.utils.datetime import CALENDAR_MAC_1904
from python_calamine import CalamineWorkbook

from bridge.read.xlsx import stored_rows
from bridge.read.xlsx.book import open_workbook
from bridge.read.xlsx.plain_rows import plain_rows

ALONE = settings(
    max_examples=60, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture]
)

TEXT = st.text(
    st.characters(min_codepoint=32, max_codepoint=0x1F9FF, exclude_categories=("Cs", "Cc", "Cn", "Co")), max_size=12
)
DAY = st.dates(dt.date(1904, 1, 3), dt.date(2200, 1, 1))
MOMENT = st.datetimes(dt.datetime(1904, 1, 3), dt.datetime(2200, 1, 1)).map(lambda m: m.replace(microsecond=0))
NUMBER = st.integers(-(10**9), 10**9) | st.floats(-1e6, 1e6, allow_nan=False).map(lambda f: round(f, 4))
CELL = st.none() | TEXT | NUMBER | st.booleans() | DAY | MOMENT | st.times().map(lambda t: t.replace(microsecond=0))
GRID = st.lists(st.lists(CELL, max_size=8), max_size=8)


def told(value: Any, *, shown: str = "General") -> str:
    """What another reader's value is in our words; written from the contract of the door, not from its code."""
    if value is None or value == "":
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dt.datetime):
        return value.date().isoformat() if value.time() == dt.time() else f"{value.date()} {clock(value.time())}"
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, dt.time):
        return clock(value)
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return format(value, ".15g") if isinstance(value, float) else str(value)


def clock(time: dt.time) -> str:
    return time.strftime("%H:%M:%S").removesuffix(":00") if not time.second else time.strftime("%H:%M:%S")


def plain(cells: list[str]) -> list[str]:
    """Without blank cells at the end."""
    while cells and not cells[-1].strip():
        cells = cells[:-1]
    return cells


def write(path: Path, grid: list[list[Any]], *, mac: bool = False) -> None:
    book = Workbook()
    if mac:
        book.epoch = CALENDAR_MAC_1904
    sheet = book.active
    for row, cells in enumerate(grid, 1):
        for column, value in enumerate(cells, 1):
            cell = sheet.cell(row, column)
            cell.value = value
            if isinstance(value, str) and value:
                cell.data_type = "s"  # a text that begins like a formula or an error is a text all the same
    book.save(path)


def ours(path: Path) -> dict[int, list[str]]:
    return {raw.number: plain(raw.cells) for raw in open_workbook(path)[0].rows() if plain(raw.cells)}


def by_openpyxl(path: Path) -> dict[int, list[str]]:
    rows = enumerate(load_workbook(path, data_only=True).active.iter_rows(values_only=True), 1)
    return {number: plain([told(v) for v in row]) for number, row in rows if plain([told(v) for v in row])}


def by_calamine(path: Path) -> dict[int, list[str]]:
    sheet = CalamineWorkbook.from_path(str(path)).get_sheet_by_index(0)
    rows = enumerate(sheet.to_python(skip_empty_area=False), 1)
    return {number: plain([told(v) for v in row]) for number, row in rows if plain([told(v) for v in row])}


@ALONE
@given(grid=GRID, mac=st.booleans())
def test_generated_workbooks_read_as_openpyxl_reads_them(grid: list[list[Any]], mac: bool, tmp_path: Path) -> None:
    write(tmp_path / "a.xlsx", grid, mac=mac)
    assert ours(tmp_path / "a.xlsx") == by_openpyxl(tmp_path / "a.xlsx")


@ALONE
@given(grid=GRID, written_once=st.booleans())
def test_both_ways_to_take_rows_apart_give_the_same(grid: list[list[Any]], written_once: bool, tmp_path: Path) -> None:
    """As text where the rows are in the common form, by the XML parser where not: here everything by each."""
    path = tmp_path / "a.xlsx"
    if written_once:
        book = Workbook(write_only=True)
        sheet = book.create_sheet("a")
        for row in grid:
            sheet.append([f"t{v}" if isinstance(v, str) else v for v in row])
        book.save(path)
    else:
        write(path, grid)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(stored_rows, "plain_rows", lambda piece: None)
        parsed = list(open_workbook(path)[0].rows())
    assert list(open_workbook(path)[0].rows()) == parsed
    with zipfile.ZipFile(path) as packed:
        rows = re.search(rb"<sheetData>(.*)</sheetData>", packed.read("xl/worksheets/sheet1.xml"), re.DOTALL)
    assert rows is None or plain_rows(rows[1]) is not None, "the common form is taken as text"


@ALONE
@given(grid=GRID)
def test_generated_workbooks_read_as_calamine_reads_them(grid: list[list[Any]], tmp_path: Path) -> None:
    write(tmp_path / "a.xlsx", grid)
    assert ours(tmp_path / "a.xlsx") == by_calamine(tmp_path / "a.xlsx")


@ALONE
@given(grid=st.lists(st.lists(st.none() | TEXT | NUMBER | st.booleans() | MOMENT, max_size=8), max_size=8))
def test_the_streaming_writer_too(grid: list[list[Any]], tmp_path: Path) -> None:
    """It writes texts beside the rows instead of sharing them."""
    book = Workbook(write_only=True)
    sheet = book.create_sheet("a")
    for row in grid:
        sheet.append([f"t{v}" if isinstance(v, str) else v for v in row])
    book.save(tmp_path / "a.xlsx")
    assert ours(tmp_path / "a.xlsx") == by_openpyxl(tmp_path / "a.xlsx") == by_calamine(tmp_path / "a.xlsx")


def test_runs_of_a_rich_text_are_joined(tmp_path: Path) -> None:
    book = Workbook()
    book.active["B2"] = CellRichText("dry ", TextBlock(InlineFont(b=True), "perforation"), " suspected")
    book.save(tmp_path / "a.xlsx")
    assert ours(tmp_path / "a.xlsx") == {2: ["", "dry perforation suspected"]} == by_openpyxl(tmp_path / "a.xlsx")


def test_sheets_come_in_their_order_with_their_names(tmp_path: Path) -> None:
    book = Workbook()
    book.active.title = "Zoë & Söhne"
    book.create_sheet("Alt").sheet_state = "hidden"
    book.create_sheet("Ganz weg").sheet_state = "veryHidden"
    book.create_chartsheet("Chart")
    book.save(tmp_path / "a.xlsx")
    found = [(t.sheet, t.hidden) for t in open_workbook(tmp_path / "a.xlsx")]
    assert found == [("Zoë & Söhne", False), ("Alt", True), ("Ganz weg", True)]
    names = [n for n in CalamineWorkbook.from_path(str(tmp_path / "a.xlsx")).sheet_names if n != "Chart"]
    assert names == [name for name, _ in found]


@pytest.mark.parametrize("rows", [1, 3, 200])
def test_many_shared_texts_come_back(rows: int, tmp_path: Path) -> None:
    """More texts than one block of the private file holds, some of them long."""
    grid = [[f"text {row} {column} " + "ü" * (row % 7) * 300 for column in range(5)] for row in range(rows)]
    write(tmp_path / "a.xlsx", grid)
    assert list(ours(tmp_path / "a.xlsx").values()) == [
        [c.rstrip(" ") if not c.strip() else c for c in r] for r in grid
    ]
