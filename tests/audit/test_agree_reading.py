"""Every rule about a filled sheet against its cases in tests/cases/<RULE>.yaml."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.audit.agree import Filled, agreed, read_filled
from bridge.audit.agree.as_data import as_data
from bridge.audit.agree.as_text import told
from bridge.audit.sample import Key
from bridge.recoding import HEADINGS
from tests.audit.recoding import FOUR, filled, key_with, row

CASES = Path(__file__).parents[1] / "cases"
CODES = ("A200", "A201", "A202", "A203", "A204", "A205", "A206", "A207", "A208", "A210")


def load(code: str) -> dict[str, Any]:
    cases: dict[str, Any] = yaml.safe_load((CASES / f"{code}.yaml").read_text(encoding="utf-8"))
    return cases


def read(key: Key, case: dict[str, Any]) -> Filled | None:
    """`rows` are filled lines by their number, `raw` rows as they stand under `headings`."""
    headings = case.get("headings", HEADINGS)
    if "rows" in case:
        rows = [row(key, at, *map(str, answers)) for at, *answers in case["rows"]]
    else:
        rows = [[named(key, str(cell)) for cell in cells] for cells in case["raw"]]
    return read_filled(key, "shah", headings, enumerate(rows, 2), "shah.xlsx", "Lines")


def named(key: Key, cell: str) -> str:
    """`LINE-2` is the number of the second line; in small letters, that number in small letters."""
    if cell.casefold().startswith("line-"):
        line = key.lines[int(cell[5:]) - 1].line
        return line if cell.startswith("LINE") else line.casefold()
    return cell


def rules_of(found: Filled | None) -> set[str]:
    return {"A200"} if found is None else {i.rule for i in found.issues}


@pytest.mark.parametrize("code", CODES)
def test_cases(code: str) -> None:
    key, cases = key_with(FOUR), load(code)
    assert cases["passes"]
    assert cases["fails"]
    for case in cases["passes"]:
        assert code not in rules_of(read(key, case)), case
    for case in cases["fails"]:
        assert code in rules_of(read(key, case)), case


def test_all_problems_are_told_at_once_each_with_its_cell() -> None:
    key = key_with(FOUR)
    found = filled(key, "shah", [row(key, 1, "hevy"), row(key, 1, "heavy"), row(key, 3, "perforation", ear="AS")])
    places = {(i.rule, i.where.row, i.where.heading) for i in found.issues}
    assert {("A206", 2, "Meaning"), ("A206", 4, "Another ear is meant"), ("A208", None, "")} <= places


def test_an_answer_that_is_in_doubt_does_not_count() -> None:
    key = key_with(FOUR)
    rows = [row(key, 1, "heavy"), row(key, 1, "none"), row(key, 2, "hevy"), row(key, 3, "perforation", said="maybe")]
    assert filled(key, "shah", rows).answers == {}


def test_no_message_quotes_a_cell_that_somebody_typed() -> None:
    """Whatever a coder writes may be about a client."""
    key = key_with(FOUR)
    rows = [row(key, 1, "Mrs Sandholt"), row(key, 2, "other", "Sandholt"), row(key, 3, "", "", "Sandholt", "Sandholt")]
    found = filled(key, "shah", [*rows, ["Sandholt", "", "", "", "heavy", "", "", ""]])
    assert found.issues
    assert not any("sandholt" in str(i).casefold() for i in found.issues)


def test_columns_may_move_and_others_stand_between() -> None:
    key = key_with(FOUR)
    first = key.lines[0]
    found = filled(
        key, "shah", [["heavy", "my own note", first.line, first.words]], ["meaning", "Note", "LINE", "Words"]
    )
    answer = found.answers[first.line]
    assert answer.meaning is not None
    assert answer.meaning.concept == "wax-heavy"


def test_a_near_word_is_offered_and_not_taken() -> None:
    key = key_with(FOUR)
    found = filled(key, "shah", [row(key, 1, "hevy")])
    assert "“heavy”" in next(i.message for i in found.issues if i.rule == "A206")
    assert not found.answers


@pytest.mark.parametrize("line", ["strange", key_with(FOUR).lines[0].line])
def test_a_sheet_of_rows_without_end_is_not_read_to_its_end(line: str) -> None:
    key = key_with(FOUR)
    read_rows = 0

    def rows() -> Iterator[tuple[int, list[str]]]:
        nonlocal read_rows
        for number in range(2, 1_000_000):
            read_rows += 1
            yield number, [line, "", "wax ++", "", "heavy"]

    found = read_filled(key, "shah", HEADINGS, rows(), "shah.xlsx")
    assert found is not None
    assert read_rows <= 202
    assert len(found.issues) < 210


_CELL = st.one_of(
    st.sampled_from([line.line for line in key_with(FOUR).lines]),
    st.sampled_from(
        ["heavy", "perforation", "other", "cannot tell", "stated", "left", "wax ++", "=1+1", "'", "\0", ""]
    ),
    st.text(max_size=8),
)


@given(
    st.lists(st.one_of(st.sampled_from(HEADINGS), st.text(max_size=5)), max_size=12),
    st.lists(st.lists(_CELL, max_size=12), max_size=8),
)
@settings(max_examples=150, deadline=None)
def test_no_sheet_makes_it_fall_over(headings: list[str], rows: list[list[str]]) -> None:
    key = key_with(FOUR)
    for given_headings in (headings, list(HEADINGS)):
        found = read_filled(key, "shah", given_headings, enumerate(rows, 2), "shah.xlsx")
        if found is not None:
            done = agreed(key, [found, found])
            assert list(told(done, verbose=True))
            assert as_data(done)
            assert all(answer.meaning or answer.none_fits or not answer.tells for answer in found.answers.values())
