"""A heading that stands twice: the layout names the second as `Wax (2)`; and pain with its own `/10`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from bridge.layout import load_layout, told_apart
from bridge.layout.choose import extra_headings, missing_headings
from bridge.read.fault import CellError
from bridge.read.values import out_of_ten, parse_whole
from bridge.read.visits import read_visits
from tests.read.sheets import LONDON, read_rows, write_layout

COLUMNS: dict[str, Any] = {
    "Date": "start.date",
    "Surname": "client.legal_name.family",
    "Wax": "right.before.wax",
    "Wax (2)": "left.before.wax",
}
SHEET = "Date,Surname,Wax,Wax\n2026-05-14,Testington,heavy,mild\n2026-05-15,Sampleby,,impacted\n"


def read(folder: Path, columns: dict[str, Any], sheet: str = SHEET) -> list[Any]:
    layout = load_layout(write_layout(folder, {"name": "own", "rows": "visit", "columns": columns}))
    path = folder / "sheet.csv"
    path.write_text(sheet, encoding="utf-8")
    return list(read_visits(path, layout, LONDON))


def test_both_columns_are_read_each_for_its_ear(tmp_path: Path) -> None:
    visits = [r.visit for r in read(tmp_path, COLUMNS) if r.visit]
    told = [
        tuple(ear.before.wax.amount.text if ear and ear.before and ear.before.wax else "" for ear in (v.right, v.left))
        for v in visits
    ]
    assert told == [("heavy", "mild"), ("", "impacted")]


def test_a_layout_that_names_one_only_reads_neither(tmp_path: Path) -> None:
    columns = {k: v for k, v in COLUMNS.items() if k != "Wax (2)"}
    readings = read(tmp_path, columns)
    assert {i.rule for r in readings for i in r.issues} >= {"R209"}
    assert not any(r.visit for r in readings)


def test_headings_again_are_still_no_record(tmp_path: Path) -> None:
    readings = read(tmp_path, COLUMNS, SHEET + "Date,Surname,Wax,Wax\n2026-05-16,Mockford,none,none\n")
    assert len([r for r in readings if r.visit]) == 3


@pytest.mark.parametrize(
    ("headings", "wanted"),
    [
        (["A", "a ", "A"], ["A", "a  (2)", "A (3)"]),
        (["A", "B"], ["A", "B"]),
        (["", ""], ["", ""]),
        (["A", "A", "A (2)"], ["A", "A", "A (2)"]),
    ],
)
def test_how_headings_are_told_apart(headings: list[str], wanted: list[str]) -> None:
    assert told_apart(headings) == wanted


def test_a_layout_fits_a_sheet_with_a_heading_twice(tmp_path: Path) -> None:
    layout = load_layout(write_layout(tmp_path, {"name": "own", "rows": "visit", "columns": COLUMNS}))
    headings = ["Date", "Surname", "Wax", "Wax"]
    assert (missing_headings(headings, layout), extra_headings(headings, layout)) == ([], [])
    assert missing_headings(headings[:3], layout) == ["Wax (2)"]


@pytest.mark.parametrize(("text", "wanted"), [("3/10", 3), ("10 / 10", 10), ("0/10", 0), ("7", 7)])
def test_pain_out_of_ten(text: str, wanted: int) -> None:
    assert parse_whole(out_of_ten(text)) == wanted


@pytest.mark.parametrize("text", ["3/5", "3/100", "1/10/2", "3/", "/10", "a/10"])
def test_another_scale_is_no_pain(text: str) -> None:
    with pytest.raises(CellError):
        parse_whole(out_of_ten(text))


def test_only_pain_has_ten_below_its_line(tmp_path: Path) -> None:
    (reading,) = [r for r in read_rows(tmp_path, [{"R pain": "3/10"}]) if r.visit]
    assert reading.visit.right.work[0].pain_peak == 3
    issues = [i.rule for r in read_rows(tmp_path, [{"R wax %": "3/10"}]) for i in r.issues]
    assert "R108" in issues
