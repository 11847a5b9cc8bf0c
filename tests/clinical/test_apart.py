"""The generator of clean visits and the seeder of faults stand apart from what they test, and make what they say."""

from __future__ import annotations

import ast
import random
import re
from collections import Counter
from pathlib import Path

from bridge.coding import code_visit, load_term_maps
from bridge.visit import Visit
from tests.clinical.clean_visits import clean_visit
from tests.clinical.seeded_errors import KINDS, spoiled

HERE = Path(__file__).parent
SOURCES = sorted(path for path in HERE.glob("*.py") if not path.name.startswith("test_"))


def test_nothing_of_the_package_is_imported_or_opened() -> None:
    assert len(SOURCES) > 10
    for path in SOURCES:
        text = path.read_text(encoding="utf-8")
        names = {
            name
            for node in ast.walk(ast.parse(text))
            if isinstance(node, ast.Import | ast.ImportFrom)
            for name in ([node.module or ""] if isinstance(node, ast.ImportFrom) else [a.name for a in node.names])
        }
        assert {name for name in names if name.startswith("bridge")} == set(), path.name
        assert not re.search(r"open\(|read_text|importlib|yaml|mappings|\bC[2-5]\d\d\b", text), path.name


def test_the_words_are_known_and_the_same_seed_makes_the_same_visit() -> None:
    maps = load_term_maps()
    for seed in range(200):
        visit = clean_visit(random.Random(seed))
        assert visit == clean_visit(random.Random(seed))
        assert code_visit(Visit.model_validate(visit), maps)[1] == [], seed


def test_every_kind_makes_a_visit_that_can_be_read() -> None:
    for kind in KINDS.values():
        _, wrong = spoiled(random.Random(kind.name), kind)
        Visit.model_validate(wrong)
        assert kind.words, kind.name
        assert kind.row, kind.name


def test_clean_visits_are_of_many_kinds() -> None:
    """Every story, method, side and outcome, and every fault, comes up in a run of ordinary length."""
    seen: Counter[str] = Counter()
    for seed in range(1500):
        visit = clean_visit(random.Random(seed))
        seen[visit.get("attendance", "attended")] += 1
        seen["consent " + visit.get("consent", {}).get("status", "none")] += 1
        seen["referral " + visit.get("referral", {}).get("rule", "none")] += 1
        for side in ("right", "left"):
            for work in visit.get(side, {}).get("work", []):
                seen[f"{side} {work['method']}"] += 1
                seen[f"outcome {work['outcome']}"] += 1
    for what in (
        "did not attend", "left before examination", "consent refused", "consent best interests", "referral RF01",
        "referral RF12", "right irrigation", "left irrigation", "right manual", "left MS", "outcome abandoned",
        "outcome not attempted", "outcome none removed", "outcome not needed", "outcome partially cleared",
        "right microsuction and instruments", "consent given by guardian",
    ):  # fmt: skip
        assert seen[what] >= 3, what
