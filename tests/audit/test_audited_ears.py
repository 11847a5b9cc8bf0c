"""An ear that is looked at once for all records in which it stands alike says what it says in each of them."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from bridge.audit.patterns import of_rule
from bridge.audit.visit_items import visit_items
from bridge.audited import entries
from bridge.audited.ears import Ears, of_one_ear
from bridge.audited.known import WordsKnown
from bridge.audited.visits import wanted
from bridge.check.clinical.engine import judge
from bridge.check.clinical.rulebook import RuleBook
from bridge.check.clinical.told import issues_of
from bridge.check.visit import check_visit
from bridge.coding import code_visit
from bridge.issues import Issue
from bridge.pipeline import Converter
from bridge.visit import Visit
from tests.audit.seeder.sheets import write_sheet
from tests.audit.test_patterns import converter as made
from tests.clinical.clean_visits import clean_visit
from tests.generate import visit as any_visit


@pytest.fixture(scope="module")
def converter(tmp_path_factory: pytest.TempPathFactory) -> Converter:
    return made(tmp_path_factory.mktemp("practice"))


def visits(count: int) -> list[Visit]:
    """Whole visits, and again with their ears under the client and the day of another visit."""
    rng = random.Random(5)
    whole = [Visit.model_validate(clean_visit(rng)) for _ in range(count)]
    whole += [any_visit(random.Random(seed)) for seed in range(count)]
    bad = {"nhs_number": "9990000019", "nhs_number_status": "01"}
    whole += [one.model_copy(update={"client": one.client.model_copy(update=bad)}) for one in whole[:20]]
    others = rng.sample(whole, len(whole))
    mixed = [
        one.model_copy(update={"right": other.right, "left": other.left})
        for one, other in zip(whole, others, strict=True)
    ]
    return [*whole, *mixed]


def shown(issues: list[Issue]) -> set[tuple[str, str, str]]:
    """What a pattern names."""
    return {(one.rule, one.where.path, one.message) for one in issues if one.rule in of_rule()}


def test_ears_looked_at_once_say_the_same(converter: Converter) -> None:
    words = WordsKnown(converter.maps)
    alone = [rule for rule in wanted(converter.rules) if of_one_ear(rule)]
    assert len(alone) > 30
    ears, met = Ears(converter.maps, words, alone), 0
    for visit in visits(120):
        coded, found, items = ears.coded(visit)
        expected, issues = code_visit(visit, converter.maps)
        issues += [*check_visit(expected), *issues_of(judge(expected, RuleBook(alone), asks=False))]
        assert coded == expected
        assert shown(found) == shown(issues)
        assert set(items) == set(visit_items(expected, words.expects, words.of))
        met += sum(rule in {i.rule for i in found} for rule in {rule.code for rule in alone})
    assert met > 20


def test_rules_that_ask_of_the_client_or_the_other_ear_are_not_of_one_ear(converter: Converter) -> None:
    alone = {rule.code for rule in converter.rules if of_one_ear(rule)}
    assert {"C450", "C404", "C244", "C251", "C255", "C301"} <= alone
    assert alone.isdisjoint({"C445", "C436", "C469", "C474"})


def test_a_rule_that_the_practice_changed_is_looked_at_day_by_day(tmp_path: Path) -> None:
    """Switched off until the end of 2025, C450 is silent before and speaks afterwards."""
    rules = tmp_path / "clinical"
    rules.mkdir()
    change = "{code: C450, switch: off, reason: We look at it by hand., until: 2025-12-31}"
    (rules / "own.yaml").write_text(f"changes:\n  - {change}\n", encoding="utf-8")
    write_sheet(tmp_path / "visits-x.csv", 900, seed=1, each=40)
    told = {entry.month: set[str]() for entry in entries([tmp_path / "visits-x.csv"], made(tmp_path))}
    for entry in entries([tmp_path / "visits-x.csv"], made(tmp_path)):
        told[entry.month] |= {one.rule for one in entry.issues}
    assert {month[:4] for month, rules_met in told.items() if "C450" in rules_met} == {"2026"}
