"""Rules that wait for signs are found whenever they have something to say: judge says what asking every rule of
everything says. Seen over clean and random visits, and over those of cases, whole and with a part taken out."""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path

import pytest

from bridge.check.clinical import judge, load_rules
from bridge.check.clinical.context import Context
from bridge.check.clinical.engine import contexts_of
from bridge.ear_words import EARS
from bridge.visit import Visit
from tests.check.clinical.looked_at import read
from tests.check.clinical.test_cases import FILES, _load, visit_of
from tests.clinical.clean_visits import clean_visit
from tests.generate import visit as random_visit

RULES = load_rules()


def asked_of_all(visit: Visit) -> list[tuple[str, str]]:
    """Every rule asked of all that it looks at, in order: its code and verdict, but for those that are quiet."""
    whole = Context(visit)
    ears = [whole.at_ear(ear) for ear in EARS if visit.ear(ear) is not None]
    found = []
    for rule in RULES:
        for each in rule.each:
            verdicts = (rule.verdict(context)[0] for context in contexts_of(each, whole, ears))
            found += [(rule.code, verdict) for verdict in verdicts if verdict]
    return found


def same(visit: Visit) -> bool:
    return [(one.rule.code, one.verdict) for one in judge(visit, RULES)] == asked_of_all(visit)


@pytest.mark.parametrize("seed", range(40))
def test_clean_visits(seed: int) -> None:
    assert same(read(clean_visit(random.Random(seed))))


@pytest.mark.parametrize("seed", range(60))
def test_random_visits(seed: int) -> None:
    rng = random.Random(seed)
    assert same(random_visit(rng, rng.choice((0.05, 0.2, 0.5, 0.9))))


def with_less(visit: Visit, rng: random.Random) -> Iterator[Visit]:
    """The visit without one field of each ear."""
    for ear in EARS:
        record = visit.ear(ear)
        if record is not None and record.model_fields_set:
            name = rng.choice(sorted(record.model_fields_set))
            less = record.model_copy(update={name: type(record).model_fields[name].get_default()})
            yield visit.model_copy(update={ear: less})


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_visits_of_the_cases(path: Path) -> None:
    """One case of each rule; that a rule which should speak does is what the cases themselves show."""
    rng = random.Random(path.stem)
    visit = visit_of(rng.choice(_load(path)["cases"])["visit"])
    assert same(visit)
    assert all(same(one) for one in with_less(visit, rng))


def test_most_rules_wait() -> None:
    signs = [rule.wakes()[0] for rule in RULES]
    assert sum(one is not None for one in signs) > len(RULES) * 3 / 4
