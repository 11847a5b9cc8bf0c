"""What is not recorded never satisfies and never violates a rule: by construction, for every input of every rule.

The logic is the one oracle: whatever an open answer turns out to be, a verdict that was given without it must stand.
What a record lacks is taken out of it in test_taken_out.py.
"""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator

import pytest

from bridge.check.clinical import ClinicalRule, load_rules
from bridge.check.clinical.answers import Answer
from bridge.check.clinical.context import Context
from bridge.check.clinical.question import Question
from tests.check.clinical.test_cases import visit_of

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
