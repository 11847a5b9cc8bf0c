"""What explains others comes first, and nothing is told twice."""

from __future__ import annotations

import random

from bridge.check.order import most_telling_first
from bridge.issues import Issue, Severity, Where, issue
from bridge.received import check_received


def at(rule: str, row: int = 1, path: str = "Patient", severity: Severity | None = None) -> Issue:
    found = issue(rule, "Said.", Where(row=row, column=1, path=path))
    return found if severity is None else Issue(rule, "Said.", found.where, "", severity)


ORDERED = [
    at("S122"),
    at("S123", 9),
    at("S101", 10, "Patient.contained[0]"),
    at("S102", 8),
    at("S105", 2, "Patient.name[2]"),
    at("S105", 2, "Patient.name[10]"),
    at("S103", 1),
    at("S111", 1),
    at("B104", 1),
    at("V102", 1, "Patient.extension[0]"),
    at("V123", 1),
    at("C110", 1),
]


def test_the_order_does_not_depend_on_the_order_met() -> None:
    for seed in range(30):
        mixed = [*ORDERED, *ORDERED[:4]]
        random.Random(seed).shuffle(mixed)
        assert most_telling_first(mixed) == ORDERED


def test_the_worst_of_the_standard_comes_first_and_the_trade_last() -> None:
    warning, error, trade = at("S103", severity=Severity.warning), at("V102"), at("C110", severity=Severity.fatal)
    assert most_telling_first([trade, warning, error]) == [error, warning, trade]


def test_a_constraint_says_nothing_of_what_has_the_wrong_shape() -> None:
    shape = at("S105", path="Patient.name[0]")
    inside, beside = at("V102", path="Patient.name[0].period"), at("V102", path="Patient.name[01]")
    assert most_telling_first([inside, beside, shape]) == [shape, beside]


def test_a_misspelt_element_is_told_before_it_is_missed() -> None:
    content = b'{"resourceType": "Observation", "Status": "final", "code": {"text": "x"}}'
    found = [i.rule for i in check_received(content, "o.json")[1]]
    assert found[:2] == ["S102", "S103"]
