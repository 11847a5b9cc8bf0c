"""A copy of a workbook keeps what is in it, is marked, and leaves the original alone."""

from __future__ import annotations

import io
import zipfile
from datetime import date
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook, load_workbook
from openpyxl.chart import BarChart, Reference
from openpyxl.comments import Comment
from openpyxl.styles import Font, PatternFill

from bridge.errors import InputError
from bridge.issues import Severity
from bridge.marking import Place, copied, lacking
from bridge.marking.copied import _opened as opening
from bridge.marking.marks import COLOURS
from bridge.words_asked import WordsAsked
from tests.marking.books import colour, found, notes, opened


@pytest.fixture
def source(tmp_path: Path) -> Path:
    book = Workbook()
    sheet = book.active
    sheet.title = "Visits"
    sheet.append(["Visit no", "Date", "R wax", "Sum"])
    sheet.append(["V1", date(2026, 5, 3), "chocka", "=1+1"])
    sheet["B2"].number_format = "DD/MM/YYYY"
    sheet["A2"].font = Font(bold=True)
    sheet["A2"].fill = PatternFill("solid", fgColor="C6EFCE")
    sheet["C2"].comment = Comment("ask JB", "PS")
    sheet.merge_cells("A4:B5")
    book.create_sheet("Hidden").sheet_state = "hidden"
    book.create_sheet("Prices")["A1"] = "microsuction"
    path = tmp_path / "visits.xlsx"
    book.save(path)
    return path


def test_the_original_keeps_its_bytes(source: Path) -> None:
    before = source.read_bytes()
    copied(source, [found(file=source.name, column=3)], WordsAsked())
    assert source.read_bytes() == before


def test_what_was_there_is_there(source: Path) -> None:
    book = opened(copied(source, [found(file=source.name, column=3)], None)[0])
    assert book.sheetnames == ["To do", "Visits", "Hidden", "Prices"]
    sheet = book["Visits"]
    assert [c.value for c in sheet[2]][2:] == ["chocka", "=1+1"]
    assert sheet["B2"].number_format == "DD/MM/YYYY"
    assert sheet["A2"].font.bold
    assert colour(sheet["A2"]) == "C6EFCE"
    assert book["Hidden"].sheet_state == "hidden"
    assert [ws.title for ws in book if ws.sheet_view.tabSelected] == ["To do"]


def test_marks_stand_at_their_sheet_or_at_the_first_one_seen(source: Path) -> None:
    told = [found(file=source.name, column=3), found(file=source.name, sheet="Prices", row=1)]
    content, places = copied(source, told, None)
    assert places == {"": Place("Visits"), "Prices": Place("Prices")}
    book = opened(content)
    assert notes(book["Visits"])["C2"].startswith("ask JB\n\nCHECK (M101)\n")
    assert list(notes(book["Prices"])) == ["A1"]
    assert colour(book["Visits"]["C2"]) == COLOURS[Severity.warning]


def test_a_mark_in_joined_cells_stands_at_the_first_of_them(source: Path) -> None:
    told = [found(file=source.name, row=5, column=2)]
    assert "A4" in notes(opened(copied(source, told, None)[0])["Visits"])


def test_marking_a_marked_copy_leaves_no_old_marks(source: Path, tmp_path: Path) -> None:
    again = tmp_path / "again.xlsx"
    first = copied(source, [found(file=source.name, column=3), found(file=source.name, column=2)], WordsAsked())[0]
    again.write_bytes(first)
    book = opened(copied(again, [found("R104", file=again.name, column=2)], WordsAsked())[0])
    assert book.sheetnames == ["To do", "Visits", "Hidden", "Prices", "Words"]
    assert notes(book["Visits"])["C2"] == "ask JB"
    assert notes(book["Visits"])["B2"].count("What to do") == 1
    assert colour(book["Visits"]["C2"]) == ""


def test_a_sheet_of_the_same_name_stays(source: Path) -> None:
    book = load_workbook(source)
    book.create_sheet("to do")["A1"] = "order paper"
    book.save(source)
    made = opened(copied(source, [], None)[0])
    assert made.sheetnames[0] == "To do 2"
    assert made["to do"]["A1"].value == "order paper"


def test_macros_stay_and_are_told(source: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with_macros = tmp_path / "visits.xlsm"
    with zipfile.ZipFile(source) as before, zipfile.ZipFile(with_macros, "w") as after:
        for info in before.infolist():
            content = before.read(info)
            if info.filename == "[Content_Types].xml":
                content = content.replace(
                    b"application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml",
                    b"application/vnd.ms-excel.sheet.macroEnabled.main+xml",
                )
            after.writestr(info, content)
        after.writestr("xl/vbaProject.bin", b"macros")
    opened_books: list[Any] = []
    copying = import_module("bridge.marking.copied")
    monkeypatch.setattr(copying, "_opened", lambda path: opened_books.append(opening(path)) or opened_books[0])
    content, _ = copied(with_macros, [], None)
    assert opened_books[0].vba_archive.fp is None, "an archive is left open"
    with zipfile.ZipFile(io.BytesIO(content)) as made:
        assert made.read("xl/vbaProject.bin") == b"macros"
        assert b"macroEnabled" in made.read("[Content_Types].xml")
    assert "Macros are kept" in str([c.value for c in opened(content)["To do"]["A"]])


def test_what_a_copy_may_lack_is_told(source: Path) -> None:
    assert lacking(source) == []
    book = load_workbook(source)
    chart = BarChart()
    chart.add_data(Reference(book["Visits"], min_col=1, min_row=1, max_row=2))
    book["Visits"].add_chart(chart, "F2")
    book.save(source)
    (told,) = lacking(source)
    assert told.rule == "D140"
    assert "charts" in told.message


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_declarations_are_refused(source: Path, encoding: str) -> None:
    with zipfile.ZipFile(source, "a") as packed:
        packed.writestr("xl/more.xml", '<!DOCTYPE x [<!ENTITY a "aaaa">]><x>&a;</x>'.encode(encoding))
    with pytest.raises(InputError, match="declarations"):
        lacking(source)


def test_a_declaration_across_two_blocks_is_refused(source: Path) -> None:
    with zipfile.ZipFile(source, "a", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/more.xml", b"<!--" + b" " * ((1 << 20) - 12) + b"--><!DOCTYPE x><x/>")
    with pytest.raises(InputError, match="declarations"):
        lacking(source)


def test_a_bomb_is_refused(source: Path) -> None:
    with zipfile.ZipFile(source, "a", zipfile.ZIP_DEFLATED) as packed:
        for at in range(61):
            packed.writestr(f"xl/media/{at}.bin", bytes(10_000_000))
    with pytest.raises(InputError, match="too large"):
        lacking(source)


def test_one_part_that_swells_is_refused(source: Path) -> None:
    with zipfile.ZipFile(source, "a", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/theme/theme9.xml", b"<a>" + b" " * 20_000_000 + b"</a>")
    with pytest.raises(InputError, match="too large"):
        lacking(source)


def test_a_merged_area_of_millions_of_cells_is_refused(source: Path) -> None:
    book = load_workbook(source)
    book["Visits"].merge_cells("A1:C2")
    book.save(source)
    assert lacking(source) == []
    content = io.BytesIO()
    with zipfile.ZipFile(source) as before, zipfile.ZipFile(content, "w") as after:
        for info in before.infolist():
            after.writestr(info, before.read(info).replace(b"A1:C2", b"A1:XFD1048576"))
    source.write_bytes(content.getvalue())
    with pytest.raises(InputError, match="merges too many cells"):
        lacking(source)


@pytest.mark.parametrize("broken", ["xl/workbook.xml", "xl/styles.xml", "[Content_Types].xml"])
def test_a_broken_workbook_is_refused_in_plain_words(source: Path, broken: str) -> None:
    content = io.BytesIO()
    with zipfile.ZipFile(source) as before, zipfile.ZipFile(content, "w") as after:
        for info in before.infolist():
            after.writestr(info, b"<x>" if info.filename == broken else before.read(info))
    source.write_bytes(content.getvalue())
    with pytest.raises(InputError, match=r"visits\.xlsx"):
        copied(source, [], None)


def test_the_same_bytes_each_time(source: Path) -> None:
    assert copied(source, [found(file=source.name)], None)[0] == copied(source, [found(file=source.name)], None)[0]


@pytest.mark.parametrize(
    ("part", "content", "told"),
    [
        ("xl/media/image1.png", b"png", "pictures"),
        ("xl/drawings/drawing1.xml", b"<xdr:wsDr><xdr:sp macro=''></xdr:sp></xdr:wsDr>", "shapes"),
        ("xl/worksheets/sheet9.xml", b"<worksheet><extLst><ext/></extLst></worksheet>", "small charts"),
        ("xl/threadedComments/t1.xml", b"<x/>", "conversations"),
    ],
)
def test_each_thing_that_a_copy_may_lack(source: Path, part: str, content: bytes, told: str) -> None:
    with zipfile.ZipFile(source, "a") as packed:
        packed.writestr(part, content)
    assert told in lacking(source)[0].message
