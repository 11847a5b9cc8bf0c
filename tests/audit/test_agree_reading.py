"""Every rule about a filled sheet against its cases in tests/cases/<RULE>.yaml."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from bridge.audit.agree import Filled, read_filled
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
    given = key.lines[0]
    found = filled(
        key, "shah", [["heavy", "my own note", given.line, given.words]], ["meaning", "Note", "LINE", "Words"]
    )
    answer = found.answers[given.line]
    assert answer.meaning is not None
    assert answer.meaning.concept == "wax-heavy"


def test_a_near_word_is_offered_and_not_taken() -> None:
    key = key_with(FOUR)
    found = filled(key, "shah", [row(key, 1, "hevy")])
    told = next(i for i in found.issues if i.rule == "A206")
    assert "“heavy”" in told.message
    assert not found.answers
