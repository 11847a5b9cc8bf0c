"""The sheet of words is read back however a spreadsheet program has left it."""

from __future__ import annotations

from datetime import date

import pytest

from bridge.coding.answers_sheet import day_of, read_answers
from bridge.errors import InputError
from bridge.words_asked import HEADINGS

ROW = ["amount of wax", "chocka", "3", "a.csv, row 2", "", "", "heavy", "so", "PS", "2026-05-03", "wax-amount"]


def test_answers_and_words_without_one() -> None:
    empty = [*ROW[:6], "", "", "", "", "wax-amount"]
    answers, left = read_answers(HEADINGS, [(4, ROW), (5, empty), (6, []), (7, [""] * 11)], "w.csv", "Words")
    (one,) = answers
    assert (one.where.row, one.kind, one.word, one.means, one.why, one.who) == (
        4, "wax-amount", "chocka", "heavy", "so", "PS",
    )  # fmt: skip
    assert (one.at("Why").column, one.at("Why").heading, one.at("Why").sheet) == (8, "Why", "Words")
    assert left == 1


def test_columns_moved_and_added_and_left_out() -> None:
    headings = ["WHO", "remarks", "means ", "Your  word", "field"]
    (one,), _ = read_answers(headings, [(2, ["PS", "?", " heavy ", "chocka", "amount of wax"])], "w.csv", "")
    assert (one.who, one.means, one.word, one.field, one.kind) == ("PS", "heavy", "chocka", "amount of wax", "")
    assert one.at("Why").column is None


def test_the_apostrophe_before_a_formula_is_ours() -> None:
    (one,), _ = read_answers(HEADINGS, [(2, [*ROW[:1], "'++ wax", *ROW[2:]])], "w.csv", "")
    assert one.word == "++ wax"


@pytest.mark.parametrize("headings", [[], ["Visit no", "Date"], ["Your word", "Field"], ["Your word", "Means"]])
def test_another_sheet_is_refused(headings: list[str]) -> None:
    with pytest.raises(InputError, match="no sheet of words"):
        read_answers(headings, [], "w.csv", "")


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2026-05-03", date(2026, 5, 3)),
        ("2026-05-03 00:00", date(2026, 5, 3)),
        ("3 May 2026", date(2026, 5, 3)),
        ("03-May-2026", date(2026, 5, 3)),
        ("20260503", date(2026, 5, 3)),
        ("23/05/2026", date(2026, 5, 23)),
        ("05/23/2026", date(2026, 5, 23)),
        ("23.5.2026", date(2026, 5, 23)),
        ("05/05/2026", date(2026, 5, 5)),
        ("03/05/2026", None),
        ("2026-13-03", None),
        ("23/13/2026", None),
        ("3 Mai 26", None),
        ("last week", None),
        ("", None),
    ],
)
def test_a_day_is_read_in_one_way_or_not_at_all(text: str, day: date | None) -> None:
    assert day_of(text) == day
