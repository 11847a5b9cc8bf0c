"""Each ear's words stand in that ear's column and never in the other's: hundreds of records, judged from outside."""

from __future__ import annotations

import copy
from collections import Counter
from typing import Any

import pytest

from tests.render.judge import faults
from tests.render.pages import page_of
from tests.render.raw_visits import DOUBTS, Maker

RECORDS = 300


@pytest.mark.parametrize("kind", ["summary", "referral"])
@pytest.mark.parametrize("start", range(0, RECORDS, 50))
def test_pages_say_what_the_records_say(start: int, kind: str) -> None:
    for seed in range(start, start + 50):
        raw = Maker(seed).visit()
        assert faults(raw, page_of(raw, kind).content, kind) == [], f"seed {seed}"


def test_the_records_hold_what_is_judged() -> None:
    """How often each listed value occurs: a judge that never meets a case judges nothing."""
    found: Counter[str] = Counter()

    def count(value: Any) -> None:
        if isinstance(value, dict):
            found.update(str(value[k]) for k in ("answer", "assertion", "achieved") if k in value)
            found.update(k for k in value if k in ("before", "after", "work", "history"))
            for inner in value.values():
                count(inner)
        elif isinstance(value, list):
            for inner in value:
                count(inner)

    for seed in range(RECORDS):
        raw = Maker(seed).visit()
        count(raw)
        found.update(f"no {ear}" for ear in ("right", "left") if ear not in raw)
    wanted = [*DOUBTS, "normal", "not seen", "not examined", "none", "full", "before", "after", "work", "history"]
    assert min(found[w] for w in (*wanted, "no right", "no left")) > 20, found


def test_the_judge_sees_a_swapped_ear() -> None:
    raw = next(r for r in (Maker(seed).visit() for seed in range(50)) if "right" in r and "left" in r)
    swapped = {**copy.deepcopy(raw), "right": raw["left"], "left": raw["right"]}
    assert faults(raw, page_of(swapped).content) != []


def test_the_judge_sees_a_changed_answer() -> None:
    raw = {**Maker(1).visit(), "right": {"before": {"drum": {"answer": "not examined"}}}}
    for other in ("normal", "not seen"):
        changed = {**raw, "right": {"before": {"drum": {"answer": other}}}}
        assert faults(raw, page_of(changed).content) != [], other
