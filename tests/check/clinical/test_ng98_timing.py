"""Hearing loss by the days of NICE NG98 1.1.2: every pair of days, by every answer on what explains the loss.

The table is written from the recommendation's text alone: a loss that is not explained by acute causes of the outer or
middle ear is sent on within 24 hours where it developed over 3 days or less within the past 30 days; within 2 weeks
where it did so more than 30 days ago; within 2 weeks where it got worse over 4 to 90 days.
"""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import Literal

import pytest

from bridge.check.clinical import judge, load_rules
from bridge.visit import Measure, Visit
from tests.check.clinical.test_cases import visit_of

DAYS = range(121)
START = date(2026, 5, 3)
CODES = {"C201": "RF01", "C202": "RF02", "C203": "RF03"}
RULES = [rule for rule in load_rules() if rule.code in CODES]

Explained = Literal["yes", "no", "unknown"]
CLEARED = {"before": {"wax": "heavy"}, "work": [{"method": "microsuction", "outcome": "complete"}]}
LEFT = {"before": {"wax": "heavy"}, "work": [{"method": "microsuction", "outcome": "partial"}]}
EARS: dict[Explained, dict[str, object]] = {
    "yes": {**CLEARED, "after": {"wax": "none"}, "hearing_change": "better"},
    "no": {**CLEARED, "after": {"wax": "none"}, "hearing_change": "same"},
    "unknown": LEFT,
}


def by_the_text(over: int, ago: int) -> set[str]:
    """Which recommendation of NG98 1.1.2 a loss meets that nothing explains."""
    met = set()
    if over <= 3 and ago <= 30:
        met.add("RF01")
    if over <= 3 and ago > 30:
        met.add("RF02")
    if 4 <= over <= 90:
        met.add("RF03")
    return met


def base(explained: Explained) -> Visit:
    symptom = {"term": "hearing loss", "onset": "2026-05-01", "developed_over": {"value": 1, "unit": "d"}}
    return visit_of({"right": {"symptoms": [symptom], **EARS[explained]}})


def told(visit: Visit, over: int, ago: int) -> Visit:
    """The visit with other days; made without a look at what has not changed."""
    assert visit.right is not None
    measure = Measure.model_construct(value=Decimal(over), unit="d")
    symptom = visit.right.symptoms[0].model_copy(
        update={"onset": f"{START - timedelta(days=ago)}", "developed_over": measure}
    )
    return visit.model_copy(update={"right": visit.right.model_copy(update={"symptoms": (symptom,)})})


@pytest.mark.parametrize("explained", EARS)
def test_every_pair_of_days(explained: Explained) -> None:
    assert {rule.code: rule.flag for rule in RULES} == CODES
    visit = base(explained)
    wanted_verdict = {"yes": None, "no": "fires", "unknown": "asks"}[explained]
    wrong = []
    for over in DAYS:
        for ago in DAYS:
            found = {one.rule.flag: one.verdict for one in judge(told(visit, over, ago), RULES)}
            wanted = dict.fromkeys(by_the_text(over, ago), wanted_verdict) if wanted_verdict else {}
            if found != wanted:
                wrong.append((over, ago, found, wanted))
    assert wrong == []


TEST_POINTS = [
    (1, 0, "RF01"),
    (3, 30, "RF01"),
    (3, 31, "RF02"),
    (2, 400, "RF02"),
    (4, 4, "RF03"),
    (90, 90, "RF03"),
    (91, 91, ""),
]


@pytest.mark.parametrize(("over", "ago", "flag"), TEST_POINTS)
def test_points_of_the_text(over: int, ago: int, flag: str) -> None:
    assert by_the_text(over, ago) == ({flag} if flag else set())
    found = judge(told(base("no"), over, ago), RULES)
    assert [one.rule.flag for one in found if one.verdict == "fires"] == ([flag] if flag else [])


@pytest.mark.parametrize("ago", [0, 30, 31, 400])
def test_an_unknown_speed_never_passes(ago: int) -> None:
    onset = f"{START - timedelta(days=ago)}"
    visit = visit_of({"right": {"symptoms": [{"term": "hearing loss", "onset": onset}], **EARS["no"]}})
    found = judge(visit, RULES)
    assert {one.verdict for one in found} == {"asks"}
    assert any(one.matters for one in found)


@pytest.mark.parametrize("over", [0, 3, 4, 90, 91])
def test_an_unknown_onset_never_passes_where_it_matters(over: int) -> None:
    symptom = {"term": "hearing loss", "developed_over": {"value": over, "unit": "d"}}
    found = judge(visit_of({"right": {"symptoms": [symptom], **EARS["no"]}}), RULES)
    fires = {one.rule.flag for one in found if one.verdict == "fires"}
    asks = {one.rule.flag for one in found if one.verdict == "asks" and one.matters}
    assert fires == ({"RF03"} if 4 <= over <= 90 else set())
    assert asks == ({"RF01"} if over <= 3 else set())


UNITS = [
    ("72", "h", {"RF01"}), ("80", "h", {"RF03"}), ("1", "wk", {"RF03"}), ("12", "wk", {"RF03"}), ("13", "wk", set()),
    ("3", "mo", {"RF03"}), ("4", "mo", set()), ("30", "min", {"RF01"}), ("1", "a", set()),
]  # fmt: skip


@pytest.mark.parametrize(("value", "unit", "flags"), UNITS)
def test_units_of_time(value: str, unit: str, flags: set[str]) -> None:
    """A month that a client speaks of is 30 days, so that 3 months are the 90 days of the text."""
    symptom = {"term": "hearing loss", "onset": "2026-05-01", "developed_over": {"value": value, "unit": unit}}
    found = judge(visit_of({"right": {"symptoms": [symptom], **EARS["no"]}}), RULES)
    assert {one.rule.flag for one in found if one.verdict == "fires"} == flags


@pytest.mark.parametrize(
    ("onset", "fires", "asks"),
    [
        ("2026-05", {"RF01"}, set()),
        ("2026-04", set(), {"RF01", "RF02"}),
        ("2026-03", {"RF02"}, set()),
        ("2026", set(), {"RF01", "RF02"}),
        ("2025", {"RF02"}, set()),
        ("2026-06", set(), {"RF01"}),
    ],
)
def test_partial_days_of_onset(onset: str, fires: set[str], asks: set[str]) -> None:
    """The visit is on 3 May: all of April but its first two days is within 30 days, so April alone could be either."""
    symptom = {"term": "hearing loss", "onset": onset, "developed_over": {"value": 1, "unit": "d"}}
    found = judge(visit_of({"right": {"symptoms": [symptom], **EARS["no"]}}), RULES)
    assert {one.rule.flag for one in found if one.verdict == "fires"} == fires
    assert {one.rule.flag for one in found if one.verdict == "asks" and one.matters} == asks
