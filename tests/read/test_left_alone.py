"""Rows that are no records are left alone and counted; a row with anything of a visit never is."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.layout import load_layout
from bridge.layout.formats import months
from bridge.read.visits import read_visits
from tests.read.books import as_database, as_json, as_workbook
from tests.read.sheets import LONDON, good, layout_data, read_rows, records, write_layout

LINES = {
    "": "blank row",
    **dict.fromkeys(["January 2026", "Mai", "mars 2026", "marca 2026"], "heading between rows"),
    **dict.fromkeys(["----------", "*****", "–"], "line between rows"),
    **dict.fromkeys(["Total", "Totals:"], "sum below the rows"),
    **dict.fromkeys(["Signed:", "Printed on 3 May 2026", "Page 1 of 2", "Legend: R right"], "note below the rows"),
}
KEPT = ["V2", "2026", "March fracture", "12/03/2026", "Paget", "Signedson", "5 March 2026", "Pages", "no-show"]


@pytest.mark.parametrize("form", ["csv", "workbook", "json", "database"])
@pytest.mark.parametrize("line", LINES)
def test_lines_between_the_rows(line: str, form: str, tmp_path: Path) -> None:
    layout = load_layout(write_layout(tmp_path, layout_data()))
    head = [c.heading for c in layout.columns if not c.optional]
    rows = [[{**good("visit"), "Visit no": f"V{n}", "Notes": f"no. {n}"}.get(h, "") for h in head] for n in (1, 2)]
    grid = [head, rows[0], [line, *[""] * (len(head) - 1)], head, rows[1]]
    if form == "csv":
        path = tmp_path / "a.csv"
        path.write_text("\n".join(",".join(row) for row in grid), encoding="utf-8")
    else:
        path = {"workbook": as_workbook, "json": as_json, "database": as_database}[form](tmp_path / "a.any", grid)
    readings = list(read_visits(path, layout, LONDON))
    assert [r.left_alone for r in readings] == ["headings", "", LINES[line], "headings again", ""]
    assert [i for r in readings for i in r.issues] == []


@pytest.mark.parametrize("line", KEPT)
def test_what_may_be_a_visit_is_not_left_alone(line: str, tmp_path: Path) -> None:
    nothing: dict[str, str] = dict.fromkeys(good("visit"), "")
    readings = records(read_rows(tmp_path, [{**nothing, "Visit no": line}]))
    assert [bool(r.visit) for r in readings] == [False]
    assert readings[0].issues


@pytest.mark.parametrize("line", [line for line in LINES if line])
def test_a_row_with_a_date_and_a_client_is_a_visit(line: str, tmp_path: Path) -> None:
    row = {key: "" for key in good("visit") if key not in ("Date", "Surname", "First name", "Client no")}
    for column in ("Notes", "Reason", "Visit no"):
        assert len(records(read_rows(tmp_path, [{**row, column: line}]))) == 1


def test_months_by_the_names_of_ten_languages() -> None:
    """Names by the locale data of the world's languages, as dictionaries have them; no word stands for two months."""
    wanted = {
        "märz": 3, "août": 8, "enero": 1, "giugno": 6, "mei": 5, "março": 3, "października": 10, "augusti": 8, "maj": 5,
        "desember": 12, "december": 12, "oktober": 10, "dez": 12, "dic": 12, "lipca": 7, "set": 9, "mai": 5,
    }  # fmt: skip
    assert {word: months().get(word) for word in wanted} == wanted
    assert set(months().values()) == set(range(1, 13))
