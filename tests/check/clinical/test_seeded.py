"""Visits with one clinical fault each: noticed by a rule that is about it.

The faults are put in by a seeder that knows nothing of the rules. Which rules are right for a kind is told by
`tests/clinical/noticed_by.csv`, filled by reading the pages of the rules. A fault is noticed where one of them fires,
or asks where the fault is that something was left out.
`VISIT_BRIDGE_MANY=10000 python -m pytest -s tests/check/clinical/test_seeded.py` runs the full count.
"""

from __future__ import annotations

import csv
import random
from pathlib import Path

from bridge.issues import rule_of
from tests import clinical
from tests.check.clinical.looked_at import MANY, noticed_in
from tests.clinical.seeded_errors import KINDS, MODULES, Kind, spoiled

TABLE = Path(clinical.__file__).parent / "noticed_by.csv"
EACH = max(5, int(MANY or 0) // len(KINDS) + 1)
EVERY = {
    row["kind"]: set(row["rules"].split()) for row in csv.DictReader(TABLE.read_text(encoding="utf-8").splitlines())
}


def test_every_kind_has_rules_that_exist() -> None:
    assert MODULES
    assert set(EVERY) == set(KINDS)
    assert len(KINDS) >= 60
    assert [kind for kind, right in EVERY.items() if not right] == []
    assert [code for right in EVERY.values() for code in right if rule_of(code) is None] == []


def test_faults_are_noticed() -> None:
    missed = {kind.name: [seed for seed in range(EACH) if not noticed(kind, seed)] for kind in KINDS.values()}
    total = sum(map(len, missed.values()))
    count = EACH * len(KINDS)
    print(f"\n{count - total} of {count} faults of {len(KINDS)} kinds are noticed ({1 - total / count:.2%})")
    for name, seeds in missed.items():
        print(f"  {EACH - len(seeds):>5} of {EACH}  {name}" + (f"  missed: {seeds[:5]}" if seeds else ""))
    assert total <= 0.01 * count, {name: seeds for name, seeds in missed.items() if seeds}
    assert [name for name, seeds in missed.items() if len(seeds) > 0.05 * EACH] == []


def noticed(kind: Kind, seed: int) -> bool:
    _, wrong = spoiled(random.Random(f"{kind.name} {seed}"), kind)
    return not EVERY[kind.name].isdisjoint(noticed_in(wrong, asked=kind.left_out))
