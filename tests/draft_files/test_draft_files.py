"""The truth files speak of what stands in the clinic files, as a second reading of each file finds it."""

from __future__ import annotations

import csv
import io
import json
import re
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from bridge.visit import Visit
from tests.draft_files import HERE, NO_FIELD, Sheet, Truth, draft_files
from tests.draft_files.make import BOOKS, DATABASE, make

FILES = draft_files()
SHEETS = [
    pytest.param(path, truth, sheet, id=f"{path.name}:{sheet.name}") for path, truth in FILES for sheet in truth.sheets
]

MEANS = frozenset(
    {"present", "suspected", "absent", "past", "normal", "none", "not seen", "not examined", "not recorded", "ask"}
    | {"right", "left", "both", "male", "female", "unknown", "did not attend"}
    | {"given", "refused", "withdrawn", "not asked", "best interests", "given by guardian"}
)
TOP = frozenset({*Visit.model_fields, "ear"})


def rows_of(path: Path, truth: Truth, sheet: Sheet) -> dict[int, list[str]]:
    """Row number to cells, headings included, read without the project."""
    if path.suffix in (".csv", ".txt"):
        text = io.StringIO(path.read_bytes().decode(truth.encoding), newline="")
        return dict(enumerate(csv.reader(text, delimiter=truth.delimiter), 1))
    if path.suffix == ".xlsx":
        return _worksheet(path, sheet)
    if path.suffix == ".sqlite":
        return _table(path, sheet)
    text = path.read_text(encoding="utf-8")
    whole = text if path.suffix == ".json" else f"[{','.join(text.splitlines())}]"
    records = json.loads(whole, parse_float=str)
    names = [column.heading for column in sheet.columns]
    flat = [_flat(record) for record in records]
    assert {name for record in flat for name in record} == set(names)
    return {0: names} | {i: [record.get(name, "") for name in names] for i, record in enumerate(flat, 1)}


def _worksheet(path: Path, sheet: Sheet) -> dict[int, list[str]]:
    from openpyxl import load_workbook

    book = load_workbook(path, data_only=True)
    page = book[sheet.name] if sheet.name else book.worksheets[0]
    cells = {i: ["" if v is None else str(v) for v in row] for i, row in enumerate(page.iter_rows(values_only=True), 1)}
    for merged in page.merged_cells.ranges:
        for column in range(merged.min_col, merged.max_col + 1):
            cells[merged.min_row][column - 1] = cells[merged.min_row][merged.min_col - 1]
    return cells


def _table(path: Path, sheet: Sheet) -> dict[int, list[str]]:
    with closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True)) as database:
        answer = database.execute(sheet.query or f'SELECT * FROM "{sheet.name}"')  # noqa: S608 (our own file)
        names = [str(column[0]) for column in answer.description]
        rows = [["" if v is None else str(v) for v in row] for row in answer]
    return {0: names} | dict(enumerate(rows, 1))


def _flat(record: object, name: str = "") -> dict[str, str]:
    if isinstance(record, dict):
        parts = [_flat(value, f"{name} / {key}" if name else key) for key, value in record.items()]
        return {key: value for part in parts for key, value in part.items()}
    if isinstance(record, list):
        return {name: "\n".join(str(value) for value in record)}
    if isinstance(record, bool):
        return {name: "yes" if record else "no"}
    return {name: "" if record is None else str(record)}


def headings_of(rows: dict[int, list[str]], sheet: Sheet) -> list[str]:
    """The headings as one string each: from the first row of groups down to `sheet.headings`."""
    last = [" ".join(cell.split()) for cell in rows[sheet.headings]]
    told = [column.heading for column in sheet.columns]
    if not any(" / " in heading for heading in told) or sheet.headings == 0:
        return last
    above = [" ".join(cell.split()) for cell in rows[sheet.headings - 1]]
    return [" / ".join(part for part in pair if part) for pair in zip(above, last, strict=True)]


@pytest.mark.parametrize(("path", "truth", "sheet"), SHEETS)
def test_columns_are_the_files_headings_in_order(path: Path, truth: Truth, sheet: Sheet) -> None:
    assert headings_of(rows_of(path, truth, sheet), sheet) == [column.heading for column in sheet.columns]


@pytest.mark.parametrize(("path", "truth", "sheet"), SHEETS)
def test_fields_begin_as_the_visit_model_does(path: Path, truth: Truth, sheet: Sheet) -> None:
    for column in sheet.columns:
        assert column.to
        assert all(to in NO_FIELD or to.split(".")[0] in TOP for to in column.to), column
        sided = {to.split(".")[0] for to in column.to} & {"right", "left", "ear"}
        assert len(sided) < 2, f"{column.heading} cannot be two sides at once"
        assert sheet.rows != "visit" or "ear" not in sided


@pytest.mark.parametrize(("path", "truth", "sheet"), SHEETS)
def test_words_stand_in_their_columns(path: Path, truth: Truth, sheet: Sheet) -> None:
    rows = rows_of(path, truth, sheet)
    names = [column.heading for column in sheet.columns]
    for told in (sheet.words, sheet.dates, sheet.units):
        assert set(told) <= set(names)
    data = [cells for number, cells in rows.items() if number > sheet.headings and number not in sheet.not_visits]
    for heading, words in sheet.words.items():
        cells = {row[i] for row in data for i, name in enumerate(names) if name == heading and i < len(row)}
        assert set(words) <= cells, f"{heading}: {set(words) - cells} stands nowhere"
        assert all(means in MEANS for several in words.values() for means in several)


@pytest.mark.parametrize(("path", "truth", "sheet"), SHEETS)
def test_every_word_of_side_and_consent_is_told(path: Path, truth: Truth, sheet: Sheet) -> None:
    rows = rows_of(path, truth, sheet)
    for i, column in enumerate(sheet.columns):
        if not {"ear", "consent.status", "sharing.status"} & set(column.to):
            continue
        cells = {row[i] for n, row in rows.items() if n > sheet.headings and n not in sheet.not_visits and i < len(row)}
        assert cells - {""} <= set(sheet.words.get(column.heading, {})), column.heading


@pytest.mark.parametrize(("path", "truth", "sheet"), SHEETS)
def test_spots_stand_in_visit_rows(path: Path, truth: Truth, sheet: Sheet) -> None:
    rows = rows_of(path, truth, sheet)
    assert set(sheet.not_visits) <= set(rows)
    for spot in sheet.spots:
        assert spot.row > sheet.headings
        assert spot.row not in sheet.not_visits
        row = " ".join(" ".join(rows[spot.row]).split()).casefold()
        for said in spot.says:
            assert said.ear in ("right", "left", "")
            assert all(means in MEANS for means in said.means), said
            assert " ".join(said.words.split()).casefold() in row, f"row {spot.row}: {said.words}"


def test_as_many_as_are_promised() -> None:
    assert len(FILES) >= 10
    for path, truth in FILES:
        assert any(len(sheet.spots) >= 5 for sheet in truth.sheets), path.name
        most = max(len(rows_of(path, truth, sheet)) - sheet.headings for sheet in truth.sheets if sheet.rows != "none")
        assert 15 <= most <= 60, path.name


def test_no_file_stands_without_truth() -> None:
    ours = {".py", ".md", ".yaml"}
    assert {p for p in HERE.iterdir() if p.is_file() and p.suffix not in ours} == {path for path, _ in FILES}


def test_made_files_are_made_the_same_again(tmp_path: Path) -> None:
    make(tmp_path)
    for name in BOOKS:
        assert (tmp_path / name).read_bytes() == (HERE / name).read_bytes(), name
    assert _dump(tmp_path / DATABASE) == _dump(HERE / DATABASE)


def _dump(path: Path) -> list[str]:
    with closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True)) as database:
        return list(database.iterdump())


@pytest.mark.parametrize(("path", "truth", "sheet"), SHEETS)
def test_nobody_is_real(path: Path, truth: Truth, sheet: Sheet) -> None:
    """NHS numbers with the published check digit, from 999; telephone numbers from the ranges for fiction."""
    for cells in rows_of(path, truth, sheet).values():
        for cell in cells:
            digits = re.sub(r"\D", "", cell)
            if re.fullmatch(r"\d{3} \d{3} \d{4}", cell):
                weighed = sum(int(digit) * (10 - i) for i, digit in enumerate(digits[:9]))
                assert digits.startswith("999")
                assert (11 - weighed % 11) % 11 == int(digits[9])
            elif re.fullmatch(r"0\d[\d ]{8,12}", cell):
                assert digits.startswith(("07700900", "01632960"))
            elif re.fullmatch(r"555-\d{4}", cell):
                assert cell.startswith("555-01")
