"""The fast gate and the careful walk always agree: where the gate says yes, the walk finds nothing at all.

Instances: every published example (R4 and IPS, see the standards' folder), the demo bundles, generated visits, and
mutants of all of them, in which one value at a time is replaced, dropped, doubled or renamed. That the gate says yes
often enough to be worth having is tested too; a gate that refuses everything would agree as well.
"""

from __future__ import annotations

import copy
import json
import os
import random
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest

from bridge.build import build_collection, build_document, build_transaction
from bridge.check import gate
from bridge.check.conformance import careful, check_conformance
from bridge.fhir import tables
from bridge.fhir.read_json import read_json
from bridge.fhir.write_json import dumps
from tests import generate
from tests.spots import spots
from tests.standards import standards_file, standards_folder

Json = dict[str, Any]
ROOT = Path(__file__).parents[2]
EXAMPLES = sorted((standards_folder() / "fhir-r4-examples").rglob("*.json"))
DEMO = sorted((ROOT / "demo_bundles").rglob("*.bundle.json"))
MUTANTS = 300 if os.environ.get("VISIT_BRIDGE_MANY") else 12
"""Mutants of each instance."""
VALUES: list[Any] = [
    None, "", " ", "a", "left ear", 0, -1, 1.0, Decimal("1.0"), Decimal("-0"), True, [], {}, [None], [[]], [{}],
    {"id": "a"},
    {"reference": "#"}, {"reference": "Patient/1"}, {"reference": "urn:uuid:00000000-0000-0000-0000-000000000000"},
    {"start": "2026-02-01", "end": "2026-01-01"}, {"value": 1, "code": "mm"}, {"coding": [{"code": "a"}]},
    {"system": "http://unitsofmeasure.org", "code": "mms", "value": 1}, {"extension": [{"url": "a"}]},
    [{"url": "https://example.org/a", "valueString": "a"}], {"low": {"value": 2}, "high": {"value": 1}},
    "2026-02-29", "2024-02-29", "2026-01-01T10:00:60Z", "2026-01-01T24:00:00Z", "0000", "1900-02-29", "urn:uuid:A",
    "urn:oid:1.2.",
    '<div xmlns="http://www.w3.org/1999/xhtml"></div>', '<div xmlns="http://www.w3.org/1999/xhtml"><script/></div>',
    "a\u0000b", "text/plain", "en", "x" * 65, 2**31, 10**25, float("nan"), "final", "http://", "a  b", "#a",
    "Patient/", "Patient/a b",
]  # fmt: skip


@pytest.fixture(autouse=True)
def _at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(gate, "WORTH", 0)


def instances() -> Iterator[Any]:
    for path in [*EXAMPLES, *DEMO]:
        yield pytest.param(path, id=path.name)


def read(path: Path) -> Any:
    return read_json(path.read_bytes())[0]


def mutant(data: Any, choose: random.Random) -> Any:
    """The same data with one to three places changed."""
    data = copy.deepcopy(data)
    for _ in range(choose.choice((1, 1, 2, 3))):
        found = list(spots(data))
        if not found:
            break
        holder, key = choose.choice(found)
        change = choose.randrange(6)
        if change == 0:
            del holder[key]
        elif change == 1 and isinstance(holder, dict):
            type = choose.choice(["Observation", "Quantity", "Reference", "Extension", "Bundle.entry"])
            known = list(tables.elements(type))
            holder[choose.choice(["_", ""]) + choose.choice(known)] = copy.deepcopy(choose.choice(VALUES))
        elif change == 2 and isinstance(holder, list):
            holder.append(copy.deepcopy(holder[key]))
        elif change == 3:
            value = choose.choice(found)
            holder[key] = copy.deepcopy(value[0][value[1]])
        else:
            holder[key] = copy.deepcopy(choose.choice(VALUES))
    return data


def agrees(data: Any) -> bool:
    """Whether the gate was certain of the whole; fails where the result differs from that of the walk alone."""
    found = check_conformance(data)
    assert found == careful(data), json.dumps(data, default=str)[:2000]
    return gate.judge(data).issues is not None


@pytest.mark.parametrize("path", list(instances()))
def test_they_agree_on_an_example_and_its_mutants(path: Path) -> None:
    data = read(path)
    choose = random.Random(path.name)
    agrees(data)
    for _ in range(MUTANTS):
        agrees(mutant(data, choose))
    for entry in data.get("entry", ())[:40]:
        if isinstance(entry, dict) and "resource" in entry:
            agrees(entry["resource"])
            agrees(mutant(entry["resource"], choose))


@pytest.mark.parametrize("build", [build_document, build_transaction, build_collection])
def test_they_agree_on_generated_visits(build: Any) -> None:
    choose = random.Random(4)
    said = 0
    for seed in range(20):
        visit = generate.visit(random.Random(30_000 + seed), fill=(0.3, 0.8)[seed % 2])
        data = json.loads(dumps(build(visit, UUID(int=5), ZoneInfo("Europe/London"))), parse_float=Decimal)
        said += agrees(data)
        for _ in range(3):
            agrees(mutant(data, choose))
    assert said


def test_the_gate_is_worth_having() -> None:
    """It lets most of our own documents through, and a good part of everybody's."""
    standards_file("fhir-r4-examples")
    own = [agrees(read(path)) for path in DEMO]
    others = [agrees(read(path)) for path in EXAMPLES]
    print(f"\nthe gate says yes to {sum(own)} of {len(own)} demo bundles, {sum(others)} of {len(others)} examples")
    assert sum(own) > 0.6 * len(own)
    assert sum(others) > 0.25 * len(others)
