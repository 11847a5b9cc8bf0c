"""What is not recorded never satisfies and never violates a rule: by construction, for every input of every rule.

The logic is the one oracle: whatever an open answer turns out to be, a verdict that was given without it must stand.
"""

from __future__ import annotations

import copy
import itertools
import random
from collections.abc import Iterator
from typing import Any

import pytest

from bridge.check.clinical import ClinicalRule, judge, load_rules
from bridge.check.clinical.answers import Answer
from bridge.check.clinical.context import Context
from bridge.check.clinical.question import Question
from bridge.coding import code_visit
from bridge.visit import Visit
from tests.check.clinical.test_cases import BASE, FILES, _load, maps, over, visit_of

RULES = load_rules()
MOST = 2500
"""Combinations of answers looked at for one rule; of more, so many at random."""


def questions_of(rule: ClinicalRule) -> list[Question]:
    return list(dict.fromkeys(rule.questions()))


def verdict(rule: ClinicalRule, answers: dict[Question, Answer]) -> str:
    context = Context(visit_of({}))
    for question, answer in answers.items():
        context.memos[question.level][question] = answer
    return rule.verdict(context)[0] or "quiet"


def combinations(rule: ClinicalRule) -> Iterator[dict[Question, Answer]]:
    """Every combination of yes, no and not known; a question about the record always knows."""
    asked = questions_of(rule)
    choices = [(True, False) if q.about_record else (True, False, None) for q in asked]
    size = 1
    for choice in choices:
        size *= len(choice)
    if size <= MOST:
        yield from (dict(zip(asked, answers, strict=True)) for answers in itertools.product(*choices))
    else:
        rng = random.Random(rule.code)
        for _ in range(MOST):
            yield {q: rng.choice(choice) for q, choice in zip(asked, choices, strict=True)}


@pytest.mark.parametrize("rule", RULES, ids=lambda r: r.code)
def test_an_open_answer_never_decides(rule: ClinicalRule) -> None:
    for answers in combinations(rule):
        given = verdict(rule, answers)
        for question, answer in answers.items():
            if answer is None and given != "asks":
                for filled in (True, False):
                    assert verdict(rule, {**answers, question: filled}) == given


@pytest.mark.parametrize("rule", RULES, ids=lambda r: r.code)
def test_every_question_can_decide_and_asks_when_it_is_open(rule: ClinicalRule) -> None:
    undecided = set(questions_of(rule))
    for answers in combinations(rule):
        if not undecided:
            break
        for question in list(undecided):
            told = {filled: verdict(rule, {**answers, question: filled}) for filled in (True, False)}
            if {"fires", "quiet"} == set(told.values()):
                undecided.discard(question)
                if not question.about_record:
                    assert verdict(rule, {**answers, question: None}) == "asks"
    assert [question.name for question in undecided] == []


FIRING = [
    pytest.param(path.stem, case["visit"], id=f"{path.stem}-{n}")
    for path in FILES
    for n, case in enumerate(_load(path)["cases"])
    if case["says"] == "fires"
]
BY_CODE = {rule.code: rule for rule in RULES}
NOT_TAKEN_OUT = {"visit.start", "visit.number", "item", "work", "ear", "other"}
"""What every visit has, and what the rule looks at: without it there is nothing to look at."""


@pytest.mark.parametrize(("code", "given"), FIRING)
def test_a_rule_that_fires_asks_without_what_it_fired_on(code: str, given: dict[str, Any]) -> None:
    rule = BY_CODE[code]
    whole = Visit.model_validate(over(BASE, given)).model_dump(mode="json", exclude_defaults=True)
    about_record = {read for q in questions_of(rule) if q.about_record for read in q.reads}
    for question in questions_of(rule):
        for read in () if question.about_record else question.reads:
            if read in NOT_TAKEN_OUT or any(r.startswith(read) for r in (*about_record, *rule.each)):
                continue
            for data in without(whole, read, rule):
                found = judge(code_visit(Visit.model_validate(data), maps())[0], [rule])
                assert found, f"{rule.code} is quiet without {read}"


def without(data: dict[str, Any], read: str, rule: ClinicalRule) -> Iterator[dict[str, Any]]:
    """The record without one field, wherever the rule could have read it; nothing where it is not filled."""
    root, *names = read.split(".")
    each = [one.split(".") for one in rule.each if "." in one]
    if root == "item":
        paths = [[*one, *names] for one in each]
    elif root == "work":
        paths = [["ear", "work", *names]]
    else:
        paths = [[root, *names]]
    for path in paths:
        tops = {"visit": [()], "ear": [("right",), ("left",)], "other": [("right",), ("left",)]}[path[0]]
        for top in tops:
            cut = copy.deepcopy(data)
            if _cut(cut, [*top, *path[1:]]) and _valid(cut):
                yield cut


def _cut(data: Any, names: list[str]) -> bool:
    """Takes a field out of plain data; whether it was there."""
    if isinstance(data, list):
        return sum(_cut(item, names) for item in data) > 0
    if not isinstance(data, dict) or names[0] not in data:
        return False
    if len(names) == 1:
        del data[names[0]]
        return True
    return _cut(data[names[0]], names[1:])


def _valid(data: dict[str, Any]) -> bool:
    try:
        Visit.model_validate(data)
    except ValueError:
        return False
    return True
