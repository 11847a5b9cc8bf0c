"""Visits without a clinical fault: no rule calls one an error, and hardly any a warning.

The visits are made from publications and common practice alone, by a generator that knows nothing of the rules.
`VISIT_BRIDGE_MANY=10000 python -m pytest -s tests/check/clinical/test_clean.py` runs the full count.
"""

from __future__ import annotations

import random
from collections import Counter

from bridge.issues import Severity
from tests.check.clinical.looked_at import MANY, told
from tests.clinical.clean_visits import clean_visit

COUNT = int(MANY or 300)


def test_clean_visits_are_left_alone() -> None:
    rules: Counter[str] = Counter()
    examples: dict[str, str] = {}
    warned = 0
    for seed in range(COUNT):
        loud = {i for i in told(clean_visit(random.Random(seed))).issues if i.severity >= Severity.warning}
        warned += bool(loud)
        for found in loud:
            rules[f"{found.rule} {found.severity.name}"] += 1
            examples.setdefault(found.rule, f"{seed} at {found.where.path}: {found.message}")
            assert found.severity is not Severity.error, f"clean visit {seed}: {found.rule} {found.message}"
    print(f"\n{warned} of {COUNT} clean visits have a warning ({warned / COUNT:.2%})")
    for rule, count in rules.most_common():
        print(f"  {count:>6}  {rule}  {examples[rule.split()[0]]}")
    assert warned < 0.01 * COUNT, rules
