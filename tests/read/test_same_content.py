"""The same rows in every form of file give the same visits and the same complaints; only places and hashes differ."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from bridge.data import mappings_root
from bridge.issues import rules
from bridge.layout import Layout, load_layout
from bridge.read.visits import read_visits
from bridge.shapes import Reading
from tests.read.books import OTHER_FORMS, Grid, grid_of
from tests.read.sheets import LONDON, layout_data, records, write_layout, write_sheet
from tests.read.test_cases import CODES, good, load

DEMO = mappings_root() / "demo"
SPOILT_TEXT = {"R121", "R122", "R124", "R125", "R209"}
"""Rules about CSV as text: rows of uneven length, quotation marks, bytes, one heading twice."""


def cases() -> Iterator[Any]:
    for code in CODES:
        found = load(code)
        for number, case in enumerate([*found["passes"], *found["fails"]]):
            if code not in SPOILT_TEXT and not {"yaml", "text", "encoding"} & case.keys():
                yield pytest.param(case, found.get("sheet", "visit"), id=f"{code}-{number}")


def told(readings: list[Reading]) -> list[Any]:
    """What a reading says, but for its place, its hash, and the ways to write a time, of which tables have one more."""
    found = []
    for reading in records(readings):
        visit = reading.visit.model_dump(exclude={"source_sha256"}) if reading.visit else None
        issues = [(i.rule, i.message.partition(" (HH")[0], i.where.path, i.where.heading) for i in reading.issues]
        found.append((visit, issues))
    return found


def by_row(readings: list[Reading]) -> list[Any]:
    """As `told`, without the row numbers in messages, which JSON and databases count from the first record."""
    return [(visit, [(rule, path, heading) for rule, _, path, heading in issues]) for visit, issues in told(readings)]


def same_in_every_form(folder: Path, grid: Grid, layout: Layout, wanted: list[Reading]) -> None:
    for form, (name, write) in OTHER_FORMS.items():
        found = list(read_visits(write(folder / name, grid), layout, LONDON))
        if form == "workbook":
            assert told(found) == told(wanted), form
            assert [r.where.row for r in records(found)] == [r.where.row for r in records(wanted)]
        else:
            assert by_row(found) == by_row(wanted), form


@pytest.mark.parametrize(("case", "kind"), list(cases()))
def test_every_case_of_reading_in_every_form(case: dict[str, Any], kind: str, tmp_path: Path) -> None:
    layout = load_layout(write_layout(tmp_path, layout_data(kind, case.get("layout"))))
    changes = case.get("rows", [{}])
    rows = [{k: v for k, v in {**good(kind), **change}.items() if v is not None} for change in changes]
    sheet = write_sheet(tmp_path / "sheet.csv", layout, rows)
    grid = grid_of(sheet.read_text(encoding="utf-8"))
    for name in case.get("missing", []):
        at = grid[0].index(name)
        grid = [[*row[:at], *row[at + 1 :]] for row in grid]
    grid = [[*row, *(extra if n == 0 else "x" for extra in case.get("extra", []))] for n, row in enumerate(grid)]
    sheet.write_text("\r\n".join(",".join('"' + c.replace('"', '""') + '"' for c in row) for row in grid), "utf-8")
    same_in_every_form(tmp_path, grid, layout, list(read_visits(sheet, layout, LONDON)))


@pytest.mark.parametrize(("name", "kind"), [("visits-2026.csv", "visit"), ("ears-2026.csv", "ear")])
def test_the_demo_in_every_form(name: str, kind: str, tmp_path: Path) -> None:
    layout = load_layout(mappings_root() / "layouts" / f"one-row-per-{kind}.yaml")
    text = (DEMO / name).read_text(encoding="utf-8")
    plain = "".join(line for line in text.splitlines(keepends=True) if not line.startswith("#"))
    sheet = tmp_path / name
    sheet.write_text(plain, encoding="utf-8", newline="")
    wanted = list(read_visits(sheet, layout, LONDON))
    assert len([r for r in wanted if r.visit]) >= 4
    same_in_every_form(tmp_path, grid_of(plain), layout, wanted)


def test_the_left_out_rules_are_about_text() -> None:
    assert set(rules()) >= SPOILT_TEXT
