"""visit -> document bundle -> bytes -> visit is the identity for every field that the documents carry.

`VISIT_BRIDGE_MANY=10000 python -m pytest tests/test_round_trip.py` runs the full count.
"""

from __future__ import annotations

import os
import random
from collections import Counter
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from bridge.build import build_document, build_transaction
from bridge.check import check_bundle
from bridge.fhir.read_json import read_json
from bridge.fhir.write_json import dumps
from bridge.issues import Severity
from bridge.receive import bundle_to_visits
from bridge.visit import Visit
from tests import generate
from tests.fields import pattern

NAMESPACE = UUID("3d3b5a9c-52e5-4cf8-9a34-2b0c36a2f0aa")
ZONE = ZoneInfo("Europe/London")
MANY = int(os.environ.get("VISIT_BRIDGE_MANY", "300"))


def there_and_back(visit: Visit) -> Visit:
    data, issues = read_json(dumps(build_document(visit, NAMESPACE, ZONE)))
    assert issues == []
    assert data is not None
    visits, problems = bundle_to_visits(data)
    assert problems == []
    return visits[0]


@settings(max_examples=60, deadline=None, phases=[Phase.explicit, Phase.generate])
@given(st.integers(0, 2**32))
def test_visit_comes_back_as_it_was(seed: int) -> None:
    visit = generate.visit(random.Random(seed))
    assert there_and_back(visit) == visit


def test_many_visits_come_back_and_conform() -> None:
    met: Counter[str] = Counter()
    for seed in range(MANY):
        visit = generate.visit(random.Random(seed), fill=0.3 + 0.6 * (seed % 7) / 7)
        bundle = build_document(visit, NAMESPACE, ZONE)
        visits, problems = bundle_to_visits(bundle)
        assert problems == []
        assert visits == [visit], f"seed {seed}"
        errors = [i for i in check_bundle(bundle) if i.severity >= Severity.error]
        assert errors == [], f"seed {seed}"
        met.update(pattern(path) for path in _paths(visit.model_dump(exclude_defaults=True), ""))
    assert len(met) > 200, "the generator reaches too few of the fields"


@pytest.mark.parametrize("seed", range(20))
def test_same_visit_same_bytes(seed: int) -> None:
    one = generate.visit(random.Random(seed))
    two = generate.visit(random.Random(seed))
    assert dumps(build_document(one, NAMESPACE, ZONE)) == dumps(build_document(two, NAMESPACE, ZONE))
    assert dumps(build_transaction(one, NAMESPACE, ZONE)) == dumps(build_transaction(two, NAMESPACE, ZONE))


@pytest.mark.parametrize("seed", range(10))
def test_transaction_conforms(seed: int) -> None:
    bundle = build_transaction(generate.visit(random.Random(seed)), NAMESPACE, ZONE)
    assert [i for i in check_bundle(bundle) if i.severity >= Severity.error] == []


def _paths(value: object, path: str) -> list[str]:
    if isinstance(value, dict):
        return [p for k, v in value.items() for p in _paths(v, f"{path}.{k}" if path else k)]
    if isinstance(value, list | tuple):
        return [p for i, v in enumerate(value) for p in _paths(v, f"{path}[{i}]")]
    return [path]
