"""Workbooks made part by part: what other programs write, and what nobody means well by."""

from __future__ import annotations

import zipfile
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bridge.errors import BridgeError, InputError
from bridge.read.headings import heading
from bridge.read.rows import Raw
from bridge.read.table import open_tables
from bridge.read.xlsx.book import open_workbook
from tests.read.books import MAIN, pack, parts

ROW = '<row r="1"><c r="A1" t="inlineStr"><is><t>x</t></is></c></row>'


def rows(path: Path) -> list[Raw]:
    return list(open_workbook(path)[0].rows())


def read_all(path: Path) -> None:
    for table in open_tables(path):
        list(table.rows())


def cells(xml: str, folder: Path, **more: str) -> list[Raw]:
    return rows(pack(folder / "a.xlsx", parts(xml, **more)))


def faults(raw: Raw) -> list[tuple[int, str]]:
    return [(column, fault.rule) for column, fault in raw.faults]


def test_rows_that_are_not_in_the_file_keep_their_numbers(tmp_path: Path) -> None:
    xml = '<row r="2"><c r="B2"><v>1</v></c></row><row r="5"><c><v>2</v></c><c><v>3</v></c></row>'
    xml += "<row><c><v>4</v></c></row>"
    found = [(r.number, r.cells) for r in cells(xml, tmp_path)]
    assert found == [(1, []), (2, ["", "1"]), (3, []), (4, []), (5, ["2", "3"]), (6, ["4"])]


def test_blank_rows_at_the_end_and_far_gaps_are_passed_over(tmp_path: Path) -> None:
    far = '<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>'
    xml = ROW + '<row r="2"><c r="A2" s="1"/></row>' + far
    found = cells(xml, tmp_path)
    assert [r.number for r in found] == [1, 1048576]
    assert faults(found[1]) == [(0, "R153")]
    assert found[1].cells == []
    assert [r.number for r in cells(ROW + '<row r="2"><c r="A2" s="1"/></row>', tmp_path)] == [1]


def test_formulas_give_their_stored_value(tmp_path: Path) -> None:
    xml = (
        '<row r="1"><c r="A1"><f>1+1</f><v>2</v></c><c r="B1" t="str"><f>A1&amp;"x"</f><v>2x</v></c>'
        '<c r="C1" t="str"><f>""</f><v></v></c><c r="D1"><f>1+1</f></c><c r="E1"><f>2+2</f><v/></c>'
        '<c r="F1" t="e"><f>1/0</f><v>#DIV/0!</v></c><c r="G1" t="e"><v>#N/A</v></c><c r="H1" t="b"><v>1</v></c></row>'
    )
    (row,) = cells(xml, tmp_path)
    assert row.cells == ["2", "2x", "", "", "", "#DIV/0!", "#N/A", "yes"]
    assert faults(row) == [(4, "R142"), (5, "R142"), (6, "R143"), (7, "R143")]


def test_texts_of_every_kind(tmp_path: Path) -> None:
    texts = (
        "<si><t>plain</t></si><si><r><t>one </t></r><r><rPr><b/></rPr><t>two</t></r></si>"
        '<si><t>漢字</t><rPh sb="0" eb="2"><t>かんじ</t></rPh><phoneticPr fontId="1"/></si>'
        "<si><t>a_x000A_b_x005F_x</t></si><si/>"
    )
    xml = "".join(f'<c r="{c}1" t="s"><v>{n}</v></c>' for n, c in enumerate("ABCDE"))
    xml += '<c r="F1" t="inlineStr"><is><r><t>in</t></r><r><t>line</t></r></is></c>'
    xml += '<c r="G1" t="d"><v>2026-05-03T10:15:00</v></c>'
    (row,) = cells(f'<row r="1">{xml}</row>', tmp_path, texts=texts)
    assert row.cells == ["plain", "one two", "漢字", "a\nb_x", "", "inline", "2026-05-03 10:15"]


def test_the_strict_form_and_prefixes_are_read(tmp_path: Path) -> None:
    found = parts('<x:row r="1"><x:c r="A1"><x:v>1</x:v></x:c></x:row>')
    sheet = found["xl/worksheets/sheet1.xml"].replace("<worksheet xmlns=", "<x:worksheet xmlns:x=")
    sheet = sheet.replace("sheetData", "x:sheetData").replace("</worksheet", "</x:worksheet")
    found["xl/worksheets/sheet1.xml"] = sheet
    strict = {k: v.replace(MAIN, "http://purl.oclc.org/ooxml/spreadsheetml/main") for k, v in found.items()}
    for made in (found, strict):
        assert [r.cells for r in rows(pack(tmp_path / "a.xlsx", made))] == [["1"]]


def test_dates_by_style_in_both_systems(tmp_path: Path) -> None:
    styles = (
        '<numFmts><numFmt numFmtId="164" formatCode="dd\\.mm\\.yyyy"/></numFmts>'
        '<cellStyleXfs><xf numFmtId="14"/></cellStyleXfs><cellXfs><xf numFmtId="0"/><xf numFmtId="164"/></cellXfs>'
    )
    xml = '<row r="1"><c r="A1" s="1"><v>46145</v></c><c r="B1"><v>46145</v></c><c r="C1" s="99"><v>46145</v></c></row>'
    assert cells(xml, tmp_path, styles=styles)[0].cells == ["2026-05-03", "46145", "46145"]
    mac = cells(xml, tmp_path, styles=styles, settings='date1904="1"')[0].cells
    assert mac[0] == "2030-05-04"  # 1,462 days later: ECMA-376 Part 1, 18.17.4.1


def test_headings_over_several_columns_are_told_as_one(tmp_path: Path) -> None:
    def text(place: str, words: str) -> str:
        return f'<c r="{place}" t="inlineStr"><is><t>{words}</t></is></c>'

    title = text("A1", "Visits of May")
    groups = text("A2", "No") + text("B2", "Right ear") + text("D2", "Left ear") + text("F2", "Notes")
    names = text("B3", "Wax") + text("C3", "Drum") + text("D3", "Wax") + text("E3", "Drum")
    data = text("A4", "V1") + text("B4", "heavy") + text("C4", "normal") + text("D4", "none") + text("E4", "normal")
    xml = "".join(f'<row r="{n}">{row}</row>' for n, row in enumerate((title, groups, names, data), 1))
    merged = "".join(f'<mergeCell ref="{r}"/>' for r in ("A1:F1", "A2:A3", "B2:C2", "D2:E2", "F2:F3"))
    pack(tmp_path / "a.xlsx", parts(xml, behind=f"<mergeCells>{merged}</mergeCells>"))
    wanted = ["No", "Right ear / Wax", "Right ear / Drum", "Left ear / Wax", "Left ear / Drum", "Notes"]
    table = open_tables(tmp_path / "a.xlsx")[0]
    assert heading(table) == (wanted, 4)
    assert heading(table, frozenset({"right ear / wax", "left ear / drum"})) == (wanted, 4)
    assert heading(table, count=2) == (wanted, 4)
    (tmp_path / "a.csv").write_text(
        "No,Right ear,,Left ear,,Notes\n,Wax,Drum,Wax,Drum,\nV1,heavy,normal,none,normal,\n"
    )
    assert heading(open_tables(tmp_path / "a.csv")[0]) == (wanted, 3)
    (tmp_path / "b.csv").write_text(
        "No,Right ear,,Left ear,,\n,Wax,Drum,Wax,Drum,Notes\nV1,heavy,normal,none,normal,x\n"
    )
    assert heading(open_tables(tmp_path / "b.csv")[0])[0] == [*wanted[:5], "Notes"], "no side for what stands beside"


def test_merged_cells_of_data_count_for_their_first_cell_only(tmp_path: Path) -> None:
    xml = "".join(f'<row r="{n}"><c r="A{n}"><v>{n}</v></c></row>' for n in range(1, 8))
    xml = xml.replace('<row r="3">', '<row r="3"><c r="B3" t="inlineStr"><is><t>heavy</t></is></c>', 1)
    merged = '<mergeCells><mergeCell ref="B3:C5"/><mergeCell ref="D1:D7"/></mergeCells>'
    found = cells(xml.replace('<c r="B3"', '<c r="B3"'), tmp_path, behind=merged)
    assert {r.number: faults(r) for r in found if r.faults} == {
        3: [(3, "R144")], 4: [(2, "R144"), (3, "R144")], 5: [(2, "R144"), (3, "R144")],
    }  # fmt: skip


def test_macros_are_told_and_never_looked_at(tmp_path: Path) -> None:
    found: dict[str, str | bytes] = {**parts(ROW), "xl/vbaProject.bin": b"\xd0\xcf\x11\xe0 not even a project"}
    (table,) = open_workbook(pack(tmp_path / "a.xlsm", found))
    assert [i.rule for i in table.issues] == ["R152"]
    assert len(list(table.rows())) == 1


ENTITY = '<!DOCTYPE a [<!ENTITY b "cccccccccc"><!ENTITY d "&b;&b;&b;">]>'
SHEET = "xl/worksheets/sheet1.xml"
RELATIONS = "xl/_rels/workbook.xml.rels"
INLINE = 't="inlineStr"><is><t>x</t></is>'
AGAIN = f'<c r="A1" {INLINE}</c></row>'
ROW_9 = ROW.replace('r="1"', 'r="9"')
MANY = f"<cellXfs>{'<xf/>' * 200_001}</cellXfs>"


def changed(part: str, change: Callable[[str], str | bytes]) -> Callable[[], dict[str, str | bytes]]:
    def make() -> dict[str, str | bytes]:
        found: dict[str, str | bytes] = {**parts(ROW, styles="<cellXfs/>", texts="<si><t>a</t></si>")}
        found[part] = change(str(found[part]))
        return found

    return make


def without(part: str) -> Callable[[], dict[str, str | bytes]]:
    return lambda: {k: v for k, v in parts(ROW).items() if k != part}


HOSTILE: dict[str, tuple[Callable[[], dict[str, str | bytes]], str]] = {
    "entities in a sheet": (changed(SHEET, lambda x: ENTITY + x.replace(">x<", ">&d;<")), "document type"),
    "a document type behind a comment": (changed(SHEET, lambda x: "<!-- a -->" * 2000 + ENTITY + x), "document type"),
    "a document type in another encoding": (changed(SHEET, lambda x: (ENTITY + x).encode("utf-16")), "document type"),
    "a document type in a hidden encoding": (
        changed(SHEET, lambda x: b'<?xml version="1.0" encoding="UTF-7"?>+ADwAIQ-DOCTYPE a>' + x.encode()), "damaged",
    ),
    "entities in the workbook": (changed("xl/workbook.xml", lambda x: ENTITY + x), "document type"),
    "entities in the texts": (changed("xl/sharedStrings.xml", lambda x: ENTITY + x), "document type"),
    "an entity that nothing declares": (changed(SHEET, lambda x: x.replace(">x<", ">&d;<")), "damaged"),
    "a sheet cut off": (changed(SHEET, lambda x: x[: len(x) // 2]), "damaged"),
    "a sheet that is empty": (changed(SHEET, lambda _: ""), "damaged"),
    "a text number without a text": (changed(SHEET, lambda x: x.replace(INLINE, 't="s"><v>7</v>')), "damaged"),
    "a text number in small raised figures": (changed(SHEET, lambda x: x.replace(INLINE, 't="s"><v>²</v>')), "damaged"),
    "two cells at one place": (changed(SHEET, lambda x: x.replace("</row>", AGAIN)), "damaged"),
    "a cell of another row": (changed(SHEET, lambda x: x.replace('r="A1"', 'r="A7"')), "damaged"),
    "rows in the wrong order": (changed(SHEET, lambda x: x.replace(ROW, ROW_9 + ROW)), "damaged"),
    "a row number without end": (changed(SHEET, lambda x: x.replace('r="1"', 'r="99999999999"')), "damaged"),
    "a column that no sheet has": (changed(SHEET, lambda x: x.replace('r="A1"', 'r="ABCDEF1"')), "damaged"),
    "no workbook": (without("xl/workbook.xml"), "packed file"),
    "no relations": (without("_rels/.rels"), "packed file"),
    "no sheet": (without(SHEET), "damaged"),
    "a path out of the package": (
        changed(RELATIONS, lambda x: x.replace("worksheets/sheet1.xml", "../../../../etc/passwd")), "damaged",
    ),
    "a sheet elsewhere": (
        changed(RELATIONS, lambda x: x.replace('Target="work', 'TargetMode="External" Target="file:')), "damaged",
    ),
    "a bomb": (changed(SHEET, lambda x: x.replace(ROW, " " * 200_000_000 + ROW)), "far more"),
    "a row without end": (changed(SHEET, lambda x: x.replace(">x<", f">{'é' * 20_000_000}<")), "damaged|far more|MB"),
    "merged cells over merged cells": (
        changed(SHEET, lambda x: x.replace("</work", '<mergeCell ref="A1:B9"/>' * 3000 + "</work")), "damaged",
    ),
    "too many styles": (changed("xl/styles.xml", lambda x: x.replace("<cellXfs/>", MANY)), "damaged"),
}  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE)
def test_what_is_made_to_do_harm_is_refused_in_plain_words(name: str, tmp_path: Path) -> None:
    make, told = HOSTILE[name]
    path = pack(tmp_path / "a.xlsx", make())
    with pytest.raises(InputError, match=told) as caught:
        read_all(path)
    assert "passwd" not in caught.value.message


def test_two_parts_of_one_name_and_passwords_are_refused(tmp_path: Path) -> None:
    path = pack(tmp_path / "a.xlsx", parts(ROW))
    with zipfile.ZipFile(path, "a") as packed, pytest.warns(UserWarning, match="Duplicate"):
        packed.writestr(SHEET, "<worksheet/>")
    with pytest.raises(InputError, match="damaged"):
        open_workbook(tmp_path / "a.xlsx")
    content = bytearray(pack(tmp_path / "b.xlsx", parts(ROW)).read_bytes())
    content[content.index(b"PK\x01\x02") + 8] |= 1
    (tmp_path / "b.xlsx").write_bytes(content)
    with pytest.raises(InputError, match="password"):
        open_workbook(tmp_path / "b.xlsx")


def test_a_cell_of_many_characters_is_cut(tmp_path: Path) -> None:
    (row,) = cells(ROW.replace(">x<", f">{'y' * 3_000_000}<"), tmp_path)
    assert 20_000 < len(row.cells[0]) <= 100_000


@settings(
    max_examples=150, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(cuts=st.lists(st.tuples(st.integers(0, 2500), st.integers(0, 255)), min_size=1, max_size=8))
def test_a_workbook_with_wrong_bytes_never_ends_in_a_traceback(cuts: list[tuple[int, int]], tmp_path: Path) -> None:
    content = bytearray(
        pack(tmp_path / "a.xlsx", parts(ROW, styles="<cellXfs/>", texts="<si><t>a</t></si>")).read_bytes()
    )
    for at, byte in cuts:
        content[at % len(content)] = byte
    (tmp_path / "a.xlsx").write_bytes(content)
    with suppress(BridgeError):
        read_all(tmp_path / "a.xlsx")


def test_an_error_that_no_program_knows_is_not_quoted(tmp_path: Path) -> None:
    """18.18.11 of ECMA-376 part 1 names the errors; what else stands there may be anybody's name."""
    row = '<row r="1"><c r="A1" t="e"><v>Mr Secretname</v></c><c r="B1" t="e"><v>#REF!</v></c></row>'
    (raw,) = open_workbook(pack(tmp_path / "a.xlsx", parts(row)))[0].rows()
    told = [fault.message for _, fault in raw.faults]
    assert "Secretname" not in told[0]
    assert told[1] == "The cell shows the error #REF!."
