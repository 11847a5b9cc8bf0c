"""The warning signs as a whole: all twenty-four, at one with the table that referrals name them from."""

from __future__ import annotations

import pytest

from bridge.check.clinical import ClinicalRule, judge, load_rules
from bridge.check.clinical.asked.hearing_loss import losses
from bridge.check.clinical.context import Context
from bridge.data import load_csv, table_path
from tests.check.clinical.test_cases import visit_of

FLAGS: dict[str, list[ClinicalRule]] = {}
for rule in load_rules():
    if rule.flag:
        FLAGS.setdefault(rule.flag, []).append(rule)
NAMED = {row["id"]: row for row in load_csv(table_path("referral-rules.csv"))}
NOT_NAMED = {"RF14", "RF18", "RF19"}
"""From memory alone; the table holds what a publication says."""
TARGETS = {row["concept"] for row in load_csv(table_path("terms", "care.csv")) if row["kind"] == "referral-target"}


def test_all_are_there() -> None:
    assert set(FLAGS) == {f"RF{number:02}" for number in range(1, 25)}
    assert set(FLAGS) - set(NAMED) == NOT_NAMED
    assert set(NAMED) <= set(FLAGS)


@pytest.mark.parametrize("flag", sorted(NAMED))
def test_urgency_is_that_of_the_table(flag: str) -> None:
    if wanted := NAMED[flag]["urgency"]:
        assert {rule.urgency for rule in FLAGS[flag]} == {wanted}


@pytest.mark.parametrize("flag", sorted(FLAGS))
def test_the_code_is_that_of_the_flag(flag: str) -> None:
    assert FLAGS[flag][0].code == f"C2{flag[2:]}"
    for rule in FLAGS[flag]:
        assert rule.urgency
        assert rule.to
        assert set(rule.to) <= TARGETS


def test_memory_never_makes_an_error() -> None:
    assert not [rule.code for rules in FLAGS.values() for rule in rules if rule.severity.name == "error"]


TOLD = {
    "well told and nothing wrong": {
        "right": {
            "symptoms": ["no symptoms"],
            "before": {"wax": "moderate", "canal": "normal", "drum": "normal", "contents": "none"},
            "work": [{"method": "microsuction", "outcome": "complete", "events": ["none"], "pain_after": 0}],
            "after": {"wax": "none", "canal": "normal", "drum": "normal", "contents": "none"},
            "hearing_change": "same",
            "impressions": ["impacted wax"],
        }
    },
    "wax, cleared, hears better": {
        "right": {
            "symptoms": ["reduced hearing", "blocked"],
            "before": {"wax": "impacted"},
            "work": [{"method": "microsuction", "outcome": "complete"}],
            "after": {"wax": "none", "drum": "normal"},
            "hearing_change": "better",
        }
    },
    "a sheet of few columns": {
        "reasons": ["wax removal"],
        "right": {"before": {"wax": "moderate"}, "work": [{"method": "microsuction", "outcome": "complete"}]},
    },
}


@pytest.mark.parametrize("given", TOLD.values(), ids=TOLD)
def test_quiet_where_nothing_warns(given: dict[str, object]) -> None:
    rules = [rule for rule in load_rules() if rule.code < "C240"]
    assert judge(visit_of(given), rules) == []


def test_one_missing_answer_is_asked_once() -> None:
    """A loss without speed or day is one question, not three."""
    rules = [rule for rule in load_rules() if rule.code < "C240"]
    found = judge(visit_of({"right": {"symptoms": ["reduced hearing"]}}), rules)
    assert [one.rule.code for one in found if one.matters] == ["C201"]


def test_a_loss_told_many_times_is_one() -> None:
    symptoms = [{"term": "hearing loss", "onset": "2026-04-20"}, {"term": "sudden hearing loss"}] * 200
    context = Context(visit_of({"right": {"symptoms": symptoms}})).at_ear("right")
    assert len(losses(context)) == 1
