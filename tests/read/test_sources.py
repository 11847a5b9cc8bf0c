"""What the files themselves get wrong: one case and one counter-case for each rule of mappings/rules/R-sources.yaml."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook

from bridge.errors import InputError
from bridge.issues import Issue, Severity, rules
from bridge.layout import LayoutError, check_layout, load_layout
from bridge.read.visits import read_visits
from bridge.shapes import Reading
from tests.read.books import as_json, as_workbook, grid_of, pack, parts
from tests.read.sheets import LONDON, codes, good, layout_data, records, write_layout, write_sheet

Made = tuple[Path, dict[str, Any]]
"""A source, and what its layout has beside the shipped one."""


def grid(folder: Path, *changes: dict[str, str], kind: str = "visit") -> list[list[str]]:
    layout = load_layout(write_layout(folder, layout_data(kind)))
    sheet = write_sheet(folder / "plain.csv", layout, [{**good(kind), **change} for change in changes or ({},)])
    return grid_of(sheet.read_text(encoding="utf-8"))


def read(made: Made, folder: Path, kind: str = "visit") -> list[Reading]:
    layout = load_layout(write_layout(folder, layout_data(kind, made[1])))
    return list(read_visits(made[0], layout, LONDON))


def book(folder: Path, change: Callable[[Any, dict[str, int]], None], *rows: dict[str, str]) -> Path:
    """A workbook of good rows, changed by its own program; `change` gets the workbook and the columns by heading."""
    cells = grid(folder, *rows)
    made = Workbook()
    made.active.title = "Visits"
    for row in cells:
        made.active.append([c or None for c in row])
    change(made, {name: number for number, name in enumerate(cells[0], 1)})
    made.save(folder / "a.xlsx")
    return folder / "a.xlsx"


def in_cell(folder: Path, heading: str, value: Any, number_format: str = "General") -> Path:
    def change(made: Any, at: dict[str, int]) -> None:
        cell = made.active.cell(2, at[heading])
        cell.value, cell.number_format = value, number_format

    return book(folder, change)


def merged(folder: Path, place: str) -> Path:
    def change(made: Any, at: dict[str, int]) -> None:
        column = made.active.cell(1, at[place]).column_letter
        made.active.cell(3, at[place]).value = None
        made.active.merge_cells(f"{column}2:{column}3")

    return book(folder, change, {"Notes": "a"}, {"Visit no": "V2"})


def sheets(folder: Path, *, hidden: str = "", other: Sequence[str] = ()) -> Path:
    def change(made: Any, at: dict[str, int]) -> None:
        made.create_sheet("Empty")
        if other:
            made.create_sheet("Prices").append(list(other))
        if hidden:
            made.copy_worksheet(made.active).title = hidden
            made[hidden].sheet_state = "hidden"
            made[hidden].delete_rows(2)

    return book(folder, change)


def database(folder: Path, cell: Any) -> Path:
    head, row = grid(folder)
    with sqlite3.connect(folder / "a.db") as connection:
        connection.execute(f"CREATE TABLE visits ({', '.join(json.dumps(h) for h in head)})")
        row = [cell if name == "Notes" else value for name, value in zip(head, row, strict=True)]
        connection.execute(f"INSERT INTO visits VALUES ({', '.join('?' * len(row))})", row)  # noqa: S608
    connection.close()
    return folder / "a.db"


def json_text(folder: Path, change: Callable[[str], str], name: str = "a.json") -> Path:
    path = as_json(folder / name, grid(folder, {}, {"Visit no": "V2"}))
    path.write_text(change(path.read_text(encoding="utf-8")), encoding="utf-8")
    return path


def opened(folder: Path, mark: str) -> Path:
    (folder / mark).write_bytes(b"")
    return as_workbook(folder / "visits.xlsx", grid(folder))


def far(folder: Path) -> Path:
    return book(folder, lambda made, at: made.active.cell(2, 3000).__setattr__("value", "x"))


def macros(folder: Path) -> Path:
    plain = as_workbook(folder / "plain.xlsx", grid(folder))
    import zipfile

    with zipfile.ZipFile(plain) as packed:
        found: dict[str, str | bytes] = {name: packed.read(name) for name in packed.namelist()}
    return pack(folder / "a.xlsm", {**found, "xl/vbaProject.bin": b"x"})


def at_last(text: str, value: str) -> str:
    """The notes of the last record replaced."""
    front, _, back = text.rpartition('"Notes": null')
    return f'{front}"Notes": {value}{back}'


FAILS: dict[str, list[Callable[[Path], Made]]] = {
    "R140": [
        lambda f: (opened(f, "~$visits.xlsx"), {}),
        lambda f: (opened(f, ".~lock.visits.xlsx#"), {}),
    ],
    "R141": [lambda f: (sheets(f, hidden="Old visits"), {})],
    "R142": [lambda f: (in_cell(f, "R wax", '="heavy"'), {}), lambda f: (in_cell(f, "Date", "=TODAY()"), {})],
    "R143": [lambda f: (in_cell(f, "R wax", "#N/A"), {})],
    "R144": [lambda f: (merged(f, "Reason"), {}), lambda f: (merged(f, "Date"), {})],
    "R145": [lambda f: (in_cell(f, "Date", 60, "dd/mm/yyyy"), {}), lambda f: (in_cell(f, "Date", 0, "d.m.yy"), {})],
    "R146": [lambda f: (sheets(f, other=["Item", "Price"]), {})],
    "R147": [lambda f: (database(f, b"\x89PNG\r\n"), {})],
    "R148": [
        lambda f: (json_text(f, lambda t: t[:-20]), {}),
        lambda f: (json_text(f, lambda t: t.replace("}, {", "} {")), {}),
        lambda f: (json_text(f, lambda t: t[:-1] + ', "words"]'), {}),
    ],
    "R149": [lambda f: (json_text(f, lambda t: t.replace('"Notes":', '"Reason": "x", "Notes":')), {})],
    "R150": [
        lambda f: (json_text(f, lambda t: t.replace('"Notes": null', f'"Notes": {"9" * 70}')), {}),
        lambda f: (json_text(f, lambda t: t.replace('"Notes": null', '"Notes": [{"a": 1}]')), {}),
        lambda f: (json_text(f, lambda t: at_last(t, '{"a":' * 40 + "1" + "}" * 40)), {}),
        lambda f: (json_text(f, lambda t: at_last(t, "[" * 90000 + "]" * 90000)), {}),
    ],
    "R152": [lambda f: (macros(f), {})],
    "R153": [lambda f: (far(f), {})],
    "R216": [lambda f: (sheets(f, hidden="Old visits"), {"sheet": ["Visits", "Vists *"]})],
}  # fmt: skip
PASSES: dict[str, list[Callable[[Path], Made]]] = {
    "R140": [lambda f: (opened(f, "~$other.xlsx"), {})],
    "R141": [lambda f: (sheets(f, hidden="Old visits"), {"sheet": "*isits"})],
    "R142": [lambda f: (in_cell(f, "R wax", "heavy"), {})],
    "R143": [lambda f: (in_cell(f, "Notes", "N/A"), {})],
    "R144": [lambda f: (book(f, lambda made, at: made.active.merge_cells("A4:D9")), {})],
    "R145": [lambda f: (in_cell(f, "Date", 46093, "dd/mm/yyyy"), {})],
    "R146": [lambda f: (sheets(f), {})],
    "R147": [lambda f: (database(f, "a picture"), {})],
    "R148": [lambda f: (json_text(f, lambda t: t + "\n\n"), {})],
    "R149": [lambda f: (json_text(f, lambda t: t), {})],
    "R150": [lambda f: (json_text(f, lambda t: t.replace('"Notes": null', '"Notes": ["one", "two", 3.50]')), {})],
    "R152": [lambda f: (as_workbook(f / "a.xlsx", grid(f)), {})],
    "R153": [lambda f: (book(f, lambda made, at: made.active.cell(2, 3000).__setattr__("number_format", "0%")), {})],
    "R216": [lambda f: (sheets(f), {"sheet": "visits"}), lambda f: (f / "plain.csv", {"sheet": "Visits"})],
}  # fmt: skip


@pytest.mark.parametrize(("rule", "number"), [(rule, n) for rule, made in FAILS.items() for n in range(len(made))])
def test_what_is_wrong_is_told_at_its_place(rule: str, number: int, tmp_path: Path) -> None:
    readings = read(FAILS[rule][number](tmp_path), tmp_path)
    found = [i for r in readings for i in r.issues if i.rule == rule]
    assert found, codes(readings)
    assert all(i.where.file for i in found)
    if rules()[rule].severity >= Severity.error:
        assert not [r for r in readings if r.visit and any(i.rule == rule for i in r.issues)]
        assert all(i.where.row or rule == "R216" for i in found)
    assert all("testington" not in (i.message + i.cause).casefold() for i in found)


@pytest.mark.parametrize(("rule", "number"), [(rule, n) for rule, made in PASSES.items() for n in range(len(made))])
def test_what_is_right_is_not_complained_of(rule: str, number: int, tmp_path: Path) -> None:
    grid(tmp_path)
    readings = read(PASSES[rule][number](tmp_path), tmp_path)
    assert [i.message for r in readings for i in r.issues if i.rule == rule] == []
    assert [r.visit for r in records(readings) if r.visit]
    assert not [i for r in readings for i in r.issues if i.severity >= Severity.error]


def test_every_rule_of_sources_has_its_cases() -> None:
    import yaml

    from bridge.data import table_path

    page = yaml.safe_load(table_path("rules", "R-sources.yaml").read_text(encoding="utf-8"))["rules"]
    assert {row["code"] for row in page} == FAILS.keys() | {"R151", "R154", "R217"}, (
        "R151 in test_find.py, R154 in tests/cli/test_several_sources.py, R217 here"
    )
    assert FAILS.keys() == PASSES.keys()


def test_faults_say_which_cell_it_is(tmp_path: Path) -> None:
    found: list[Issue] = [i for r in read((in_cell(tmp_path, "R wax", "#N/A"), {}), tmp_path) for i in r.issues]
    assert [(i.rule, str(i.where)) for i in found] == [("R143", "a.xlsx, row 2, column “R wax”")]


def test_a_fault_in_a_column_that_is_not_wanted_is_none(tmp_path: Path) -> None:
    made = in_cell(tmp_path, "Notes", "#REF!"), {"columns": {"Notes": "ignore"}}
    assert [bool(r.visit) for r in records(read(made, tmp_path))] == [True]


def test_sheets_of_several_months_are_read_one_after_the_other(tmp_path: Path) -> None:
    def change(made: Any, at: dict[str, int]) -> None:
        second = made.copy_worksheet(made.active)
        second.title = "June"
        second.cell(2, at["Visit no"]).value = "V9"
        third = made.copy_worksheet(made.active)
        third.title = "July"
        second.cell(2, at["Notes"]).value = "of June"
        third.cell(2, at["Notes"]).value = "of July"

    readings = records(read((book(tmp_path, change), {}), tmp_path))
    assert [(r.where.sheet, r.where.row, bool(r.visit)) for r in readings] == [
        ("Visits", 2, True), ("June", 2, True), ("July", 2, False),
    ]  # fmt: skip
    assert [i.message for i in readings[2].issues] == ["The number of this visit stands in sheet Visits, row 2 too."]
    only = records(read((tmp_path / "a.xlsx", {"sheet": "J*e"}), tmp_path))
    assert [r.where.sheet for r in only] == ["June"]


def test_day_numbers_only_where_the_layout_says_so(tmp_path: Path) -> None:
    made = in_cell(tmp_path, "Date", 46093)
    assert codes(read((made, {}), tmp_path)) == ["R102"]
    (reading,) = records(read((made, {"dates": ["dd/mm/yyyy", "serial"]}), tmp_path))
    assert reading.visit is not None
    assert str(reading.visit.start)[:10] == "2026-03-12"
    made = as_workbook(tmp_path / "b.xlsx", grid(tmp_path, {"Date": "46093", "Time": "0.5"}))
    assert codes(read((made, {"dates": ["dd/mm/yyyy", "serial"]}), tmp_path)) == []


def test_fractions_of_percent_only_where_the_layout_says_so(tmp_path: Path) -> None:
    made = in_cell(tmp_path, "R wax %", 0.6)
    assert codes(read((made, {}), tmp_path)) == ["R110"]
    said = {"columns": {"R wax %": {"to": "right.before.wax.percent", "unit": "fraction"}}}
    (reading,) = records(read((made, said), tmp_path))
    assert reading.visit is not None
    assert reading.visit.right is not None
    assert reading.visit.right.before is not None
    assert reading.visit.right.before.wax is not None
    assert reading.visit.right.before.wax.percent == 60
    assert codes(read((in_cell(tmp_path, "R wax %", 60), said), tmp_path)) == ["R110"]
    assert codes(read((in_cell(tmp_path, "R wax %", 0.6, "0%"), said), tmp_path)) == []


def test_headings_in_two_rows(tmp_path: Path) -> None:
    head, row = grid(tmp_path)
    above = ["Visits" if n == 0 else "" for n in range(len(head))]
    renamed = {"columns": {"Visit no": None, "Visits / Visit no": "number"}, "heading_rows": "2"}
    made = as_workbook(tmp_path / "a.xlsx", [above, head, row])
    assert [bool(r.visit) for r in records(read((made, renamed), tmp_path))] == [True]


@pytest.mark.parametrize(
    ("setting", "rule"),
    [
        ({"query": "UPDATE visits SET a = 1"}, "R217"), ({"query": "SELECT 1", "sheet": "Visits"}, "R217"),
        ({"heading_rows": "9"}, "R202"), ({"sheet": []}, "R202"), ({"dates": ["serial", "dd"]}, "R204"),
        ({"columns": {"Notes": {"to": "note", "unit": "fraction"}}}, "R204"),
    ],
)  # fmt: skip
def test_settings_that_make_no_sense(setting: dict[str, Any], rule: str, tmp_path: Path) -> None:
    path = write_layout(tmp_path, layout_data("visit", setting))
    assert [i.rule for i in check_layout(path)[1]] == [rule]
    with pytest.raises(LayoutError):
        load_layout(path)


def test_settings_that_are_fine(tmp_path: Path) -> None:
    for setting in (
        {"query": "WITH a AS (SELECT 1) SELECT * FROM a;"}, {"sheet": ["A", "B *"], "heading_rows": "2"},
        {"dates": ["serial"]},
    ):  # fmt: skip
        assert check_layout(write_layout(tmp_path, layout_data("visit", setting)))[1] == []


def test_a_file_in_which_no_sheet_fits_says_what_lacks(tmp_path: Path) -> None:
    made = as_workbook(tmp_path / "a.xlsx", [["Item", "Price"], ["suction", "60"]])
    assert "R208" in codes(read((made, {}), tmp_path))
    with pytest.raises(InputError, match="wants columns"):
        list(read_visits(made, [load_layout(write_layout(tmp_path, layout_data()))], LONDON))
    with pytest.raises(InputError, match="no sheet that the layout names"):
        read((made, {"sheet": "Visits 2026"}), tmp_path)
    with pytest.raises(InputError, match="no rows"):
        read((pack(tmp_path / "b.xlsx", parts("")), {}), tmp_path)


def test_each_sheet_gets_the_layout_that_fits_it(tmp_path: Path) -> None:
    def change(made: Any, at: dict[str, int]) -> None:
        made.create_sheet("Ears")
        for row in grid(tmp_path, {"Visit no": "V7"}, kind="ear"):
            made["Ears"].append([c or None for c in row])

    made = book(tmp_path, change)
    layouts = []
    for kind in ("visit", "ear"):
        (tmp_path / kind).mkdir()
        layouts.append(load_layout(write_layout(tmp_path / kind, layout_data(kind))))
    found = records(list(read_visits(made, layouts, LONDON)))
    assert [(r.where.sheet, r.visit.number) for r in found if r.visit] == [("Visits", "V1"), ("Ears", "V7")]
