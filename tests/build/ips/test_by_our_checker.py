"""The summary against IPS 2.0.0 by the project's own checker of profiles, as a receiver would hold it.

`VISIT_BRIDGE_MANY=10000 python -m pytest tests/build/ips/test_by_our_checker.py` runs the full count.
"""

from __future__ import annotations

import json
import os

import pytest

from bridge.check import check_bundle
from bridge.check.profiles.asked import Asked
from bridge.issues import Severity, rules
from tests.build.ips.some import generated, summary
from tests.remake import DEMO_BUNDLES

MANY = int(os.environ.get("VISIT_BRIDGE_MANY", "6"))
BUNDLE = "http://hl7.org/fhir/uv/ips/StructureDefinition/Bundle-uv-ips"


@pytest.fixture(scope="module")
def asked() -> Asked:
    return Asked(profiles=[BUNDLE])


def test_what_is_claimed_holds(asked: Asked) -> None:
    for seed in range(MANY):
        found = [i for i in check_bundle(summary(*generated(seed, 1 + seed % 4)), asked) if not rules()[i.rule].trade]
        assert [(i.rule, i.message) for i in found if i.severity >= Severity.warning] == [], f"seed {seed}"


@pytest.mark.parametrize("path", sorted((DEMO_BUNDLES / "summaries").glob("*.json")), ids=lambda p: p.name)
def test_the_demo_summary_holds(path: object, asked: Asked) -> None:
    found = check_bundle(json.loads((DEMO_BUNDLES / "summaries" / str(path)).read_bytes()), asked)
    assert [(i.rule, i.message) for i in found if i.severity >= Severity.warning] == []


def test_what_does_not_hold_is_told(asked: Asked) -> None:
    """The checker does look: a summary without its problems is none."""
    bundle = summary(*generated(0, 2))
    bundle["entry"][0]["resource"]["section"].pop(0)
    told = [i for i in check_bundle(bundle, asked) if i.severity >= Severity.error and i.rule.startswith("P")]
    assert any("sectionProblems" in i.message for i in told)
