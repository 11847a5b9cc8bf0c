"""Whatever a person answers, the layout that is written loads; an answer that clashes is told, never written."""

from __future__ import annotations

import random
from collections.abc import Callable
from pathlib import Path

import pytest

from bridge.drafting import (
    Draft,
    Question,
    answer,
    clash,
    layout_page,
    missing,
    open_questions,
    take_over,
)
from bridge.drafting.named import usable
from bridge.layout import check_layout
from bridge.layout.fields import all_paths
from bridge.marked_yaml import load_marked
from tests.benchmarks.drafts import cases
from tests.draft_files import HERE

FILES = {f"{name} {sheet.name}": make for name, sheet, make in cases(HERE)}


def said_by(chance: random.Random, made: Draft, question: Question) -> str:
    """One of the answers, or a field that a person typed."""
    if question.about == "field" and chance.random() < 0.5:
        return chance.choice([p for p in all_paths("ear" if made.rows == "ear" else "visit") if usable(p, made.rows)])
    return chance.choice(question.answers)[0]


def answered(made: Draft, seed: int) -> Draft:
    chance = random.Random(seed)
    for _ in range(2_000):
        waiting = open_questions(made)
        if not waiting:
            return made
        question = chance.choice(waiting)
        said = said_by(chance, made, question)
        if not clash(made, question, said):
            made = answer(made, question, said)
        elif question.about == "field":
            made = answer(made, question, "ignore")
    raise AssertionError("the questions do not end")


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("make", FILES.values(), ids=FILES)
def test_any_answers_make_a_layout_that_loads(make: Callable[[], Draft], seed: int, tmp_path: Path) -> None:
    made = answered(make(), seed)
    path = tmp_path / "own.yaml"
    path.write_text(layout_page(made), encoding="utf-8")
    _, issues = check_layout(path)
    allowed = {"R211"} if missing(made, settled=True) else set()
    assert [(i.rule, i.message) for i in issues if i.rule not in allowed] == []


@pytest.mark.parametrize("make", FILES.values(), ids=FILES)
def test_a_second_draft_takes_over_what_was_answered(make: Callable[[], Draft]) -> None:
    first = answered(make(), 1)
    again = take_over(make(), load_marked(layout_page(first).encode())[0])
    assert [(q.about, q.text) for q in open_questions(again)] == []
    kept = {g.heading: (g.field, g.settings) for g in first.guesses}
    assert {g.heading: (g.field, g.settings) for g in again.guesses} == kept
    assert {g.why for g in again.guesses} == {"your layout says so"}
    third = take_over(make(), load_marked(layout_page(again).encode())[0])
    assert layout_page(third) == layout_page(again)
