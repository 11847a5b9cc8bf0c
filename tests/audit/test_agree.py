"""Agreement of filled sheets, against figures worked by hand and types of difference in tests/cases/A22*.yaml."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
import yaml

from bridge.audit.agree import agreed
from bridge.audit.agree.as_data import COLUMNS, as_csv, as_data
from bridge.audit.agree.as_text import told
from tests.audit.recoding import filled, key_with, result, row

CASES = Path(__file__).parents[1] / "cases"
TYPES = ("A220", "A221", "A222", "A223", "A224", "A225", "A226", "A227")


def rules_of(case: list[str]) -> set[str]:
    kind, words, has, meaning, said, ear = [*case, "", ""][:6]
    key = key_with([(kind, words, has)])
    sheet = filled(key, "shah", [row(key, 1, meaning, "x" if meaning == "other" else "", said, ear)])
    return {i.rule for i in agreed(key, [sheet]).issues}


@pytest.mark.parametrize("code", TYPES)
def test_types_of_difference(code: str) -> None:
    cases = yaml.safe_load((CASES / f"{code}.yaml").read_text(encoding="utf-8"))
    for case in cases["passes"]:
        assert code not in rules_of(case), case
    for case in cases["fails"]:
        assert code in rules_of(case), case


TEN = [("wax", f"words {at}", "heavy" if at < 6 else "none") for at in range(10)]
"""Six heavy, four none."""


def test_percent_kappa_and_alpha_with_the_record_by_hand() -> None:
    """8 of 10 equal; record 6 heavy and 4 none, coder the same: pe = 0.36 + 0.16 = 0.52, kappa = 0.28 / 0.48."""
    found = result(key_with(TEN), shah=["heavy"] * 5 + ["none"] + ["none"] * 3 + ["heavy"])
    share = found.with_record[0]
    assert (share.same.count, share.same.of) == (8, 10)
    assert share.kappa == float(Fraction(28, 48))
    assert share.errors == {"other meaning": 2}


def test_two_coders_with_each_other_leave_the_record_aside() -> None:
    key = key_with(TEN)
    same = ["impacted"] * 5 + ["none"] * 5
    found = result(key, bell=same, shah=same)
    assert found.between[0].percent == 1
    assert found.between[0].kappa == 1
    assert found.between[0].alpha == 1
    assert found.with_record[0].same.count == 4


def test_three_coders_have_each_pair_and_all_with_gaps() -> None:
    found = result(key_with(TEN[:3]), a=["heavy", "none", ""], b=["heavy", "heavy", ""], c=["", "none", "none"])
    assert [one.coders for one in found.between] == [("a", "b"), ("a", "c"), ("b", "c"), ("a", "b", "c")]
    assert [one.things for one in found.between] == [2, 1, 1, 2]
    assert found.between[0].percent == 0.5
    # line 1: hh; line 2: n h n. n = 5, three h, two n. o_hh = 2, o_nn = 2/2 = 1; Do = 2/5, De = 1 - 8/20 = 3/5
    assert found.between[3].alpha == float(1 - Fraction(2, 5) / Fraction(3, 5))
    assert found.between[3].kappa is None


def test_what_nobody_can_tell_is_neither_agreed_nor_not() -> None:
    found = result(key_with(TEN[:3]), shah=["heavy", "cannot tell", "heavy"])
    assert (found.with_record[0].same.count, found.with_record[0].same.of) == (2, 2)
    assert found.coders[0].cannot_tell == 1
    assert not found.differences


def test_no_meaning_on_both_sides_is_agreement() -> None:
    found = result(key_with([("wax", "odd", ""), *TEN]), shah=["other", *["heavy"] * 6, *["none"] * 4])
    assert found.with_record[0].same.count == 11
    assert found.with_record[0].kappa == 1


def test_a_code_of_others_alone_is_held_against_the_codes_of_the_meaning() -> None:
    key = key_with([("wax", "wax", "271739002"), ("wax", "plug", "18070006")])
    found = result(key, shah=["heavy", "impacted"])
    assert found.with_record[0].same.count == 2
    assert found.with_record[0].kappa == 1


def test_a_code_that_no_meaning_has_is_a_category_of_its_own() -> None:
    found = result(key_with([("wax", "wax", "999"), ("wax", "wax", "999")]), shah=["heavy", "heavy"])
    assert found.with_record[0].same.count == 0
    assert found.with_record[0].kappa == 0


def test_one_code_for_two_meanings_is_told_beside_the_difference() -> None:
    found = result(key_with([("wax", "wax ++", "heavy"), ("wax", "full", "heavy")]), shah=["present", "impacted"])
    assert [one.same_code for one in found.differences] == [True, False]


def test_right_in_all_asks_for_ear_and_certainty_too() -> None:
    key = key_with([("drum", "perf", "perforation")] * 3)
    rows = [
        row(key, 1, "perforation"),
        row(key, 2, "perforation", ear="left"),
        row(key, 3, "perforation", said="suspected"),
    ]
    share = agreed(key, [filled(key, "shah", rows)]).with_record[0]
    assert (share.same.count, share.right.count) == (3, 1)
    assert share.errors == {"other side": 1, "other certainty": 1}


def test_fields_and_practitioners_apart() -> None:
    key = key_with([("wax", "a", "heavy"), ("drum", "b", "redness"), ("wax", "c", "heavy")], ["PS", "PS", "JB"])
    found = result(key, shah=["heavy", "perforation", "none"])
    assert {s.name: (s.same.count, s.same.of) for s in found.kinds} == {
        "amount of wax": (1, 2),
        "finding of the drum": (0, 1),
    }
    assert {s.name: (s.same.count, s.same.of) for s in found.practitioners} == {"JB": (0, 1), "PS": (1, 2)}


def test_groups_are_weighted_by_what_they_were_drawn_from() -> None:
    """PS: 1 of 2 of 30 things; JB: 2 of 2 of 10 things: (0.5 * 30 + 1 * 10) / 40."""
    key = key_with([("wax", "w", "heavy")] * 4, ["PS", "PS", "JB", "JB"], "practitioner", {"PS": 30, "JB": 10})
    assert result(key, shah=["heavy", "none", "heavy", "heavy"]).weighted == 0.625
    assert result(key, shah=["heavy", "none", "", ""]).weighted is None


def test_words_answered_in_two_ways_by_one_coder() -> None:
    key = key_with([("wax", "full", "heavy"), ("wax", "Full", "heavy"), ("drum", "full", "redness")])
    found = result(key, shah=["heavy", "impacted", "redness"])
    assert [(one.words, one.meanings) for one in found.two_ways] == [("full", ("heavy", "impacted"))]


def test_copies_are_told_from_ten_answers_on() -> None:
    key = key_with(TEN)
    assert "A211" in {i.rule for i in result(key, a=["heavy"] * 10, b=["heavy"] * 10).issues}
    assert "A211" not in {i.rule for i in result(key, a=["heavy"] * 10, b=["heavy"] * 9 + ["none"]).issues}
    assert "A211" not in {i.rule for i in result(key, a=["heavy"] * 9, b=["heavy"] * 9).issues}


def test_coders_who_say_the_same_of_a_line_are_one_difference() -> None:
    found = result(key_with(TEN[:1]), a=["none"], b=["none"], c=["heavy"])
    assert [(one.chosen, one.coders, one.of) for one in found.differences] == [("none", ("a", "b"), 3)]
    assert "2 of 3 coders" in next(i.message for i in found.issues if i.rule == "A221")


def test_nothing_filled_gives_no_figure() -> None:
    found = result(key_with(TEN), shah=[""] * 10)
    assert found.with_record[0].same.share is None
    assert found.with_record[0].kappa is None
    assert any("nothing to compute" in line.text for line in told(found))


def test_a_kappa_is_never_told_without_its_share_nor_as_a_verdict() -> None:
    found = result(key_with(TEN), shah=["heavy"] * 6 + ["none"] * 3 + ["heavy"])
    text = " ".join(line.text.strip() for line in told(found, verbose=True))
    assert max(len(line.text) for line in told(found, verbose=True)) <= 80
    assert "is called substantial (Landis and Koch, 1977), beside 90.0%" in text
    assert "Kappa falls where one code prevails" in text
    assert "Nothing published says what ear-care records should reach" in text
    assert "* fewer than 10 lines" not in text
    assert "between 59.6% and 98.2%" in text  # Wilson, 9 of 10, by scipy in test_measures_oracles.py


def test_few_lines_are_marked() -> None:
    text = " ".join(line.text for line in told(result(key_with(TEN[:3]), shah=["heavy"] * 3)))
    assert "shah *" in text
    assert "* fewer than 10 lines" in text


def test_data_and_table_hold_every_difference_and_run_nowhere() -> None:
    key = key_with([("wax", "=1+1", "heavy"), ("wax", "b", "heavy")])
    found = result(key, shah=["none", "none"])
    data = as_data(found)
    assert [one["words"] for one in data["differences"]] == ["=1+1", "b"]
    assert data["with_record"][0]["same"] == {"count": 0, "of": 2, "share": 0.0}
    lines = as_csv(found).removeprefix("\ufeff").splitlines()
    assert lines[0] == ",".join(COLUMNS)
    assert "'=1+1" in lines[1]
    assert len(lines) == 3


def test_codes_stand_beside_what_differs() -> None:
    found = as_data(result(key_with([("wax", "full", "heavy")]), shah=["impacted"]))["differences"][0]
    assert (found["record codes"], found["codes chosen"]) == ("sct:271739002", "sct:18070006")


def test_a_sheet_spread_over_groups_has_no_interval_of_all_records() -> None:
    key = key_with([("wax", "w", "heavy")] * 4, ["PS", "PS", "JB", "JB"], "practitioner", {"PS": 30, "JB": 10})
    found = result(key, shah=["heavy"] * 4)
    assert found.with_record[0].interval is None
    assert all(share.interval for share in found.practitioners)
    assert not any(share.interval for share in found.kinds)
    text = " ".join(line.text for line in told(found))
    assert "95 percent confidence" not in text
    assert "those of the sheet, not of all records" in text
