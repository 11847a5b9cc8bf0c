"""No fact changes its ear, none that is doubted becomes a finding: seen in the written CDA by XPath and code alone."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from bridge.cda import write_cda
from tests.cda.documents import DEMO, MANY, V3, at, bundle_at, generated

RIGHT, LEFT = "25577004", "89644007"
"""SNOMED CT, right and left ear structure."""


def codes(concepts: Any) -> set[str]:
    found = concepts if isinstance(concepts, list) else [concepts] if concepts else []
    return {coding["code"] for concept in found for coding in concept.get("coding", ())}


def ears_in(value: Any) -> set[str]:
    """The ears that any code in a resource names."""
    if isinstance(value, dict):
        return {value["code"]} & {RIGHT, LEFT} if "code" in value and "system" in value else ears_in([*value.values()])
    return set().union(*map(ears_in, value)) if isinstance(value, list) else set()


def acts(cda: bytes) -> Iterator[tuple[str, Any]]:
    """Each clinical act that is told whole, by its id."""
    for act in at(cda, "//v:section//v:entry/*[v:id][v:statusCode or v:value or v:effectiveTime]"):
        yield act.xpath("v:id[1]/@root", namespaces=V3)[0], act


def told_of_the_same_ear(bundle: Any) -> int:
    """How many facts name an ear. Of the classes of CDA only observation and procedure have an element for it."""
    resources = {e["resource"]["id"]: e["resource"] for e in bundle["entry"]}
    met = 0
    for id, act in acts(write_cda(bundle)):
        resource = resources.get(id, {})
        placed = act.tag.rpartition("}")[2] in ("observation", "procedure")
        path = "v:targetSiteCode/descendant-or-self::*/@code" if placed else ".//@code"
        wanted = ears_in(resource.get("bodySite")) if placed else ears_in(resource)
        assert set(act.xpath(path, namespaces=V3)) & {RIGHT, LEFT} == wanted, (resource["resourceType"], id)
        met += bool(wanted)
    assert met == sum(bool(ears_in(resource)) for resource in resources.values())
    return met


def test_every_fact_of_the_demo_has_the_ear_that_it_has_in_the_bundle() -> None:
    assert sum(told_of_the_same_ear(bundle_at(path)) for path in DEMO) > 500


def test_every_fact_of_generated_visits_has_the_ear_that_it_has_in_the_bundle() -> None:
    assert sum(told_of_the_same_ear(generated(seed)[1]) for seed in range(MANY)) > 100


@pytest.mark.parametrize("start", range(3))
def test_what_is_suspected_or_denied_is_no_value_that_stands(start: int) -> None:
    """A reader who knows none of our templates takes an observation's coded value without negation as found."""
    for seed in range(start, MANY, 3):
        _, bundle = generated(seed)
        status = {
            e["resource"]["id"]: codes(e["resource"].get("verificationStatus"))
            for e in bundle["entry"]
            if e["resource"]["resourceType"] == "Condition"
        }
        for id, act in acts(write_cda(bundle)):
            if id in status and "confirmed" not in status[id]:
                values = act.xpath("v:value[@code][not(@nullFlavor)]", namespaces=V3)
                assert not values or act.get("negationInd") == "true", f"seed {seed}"
                assert act.get("negationInd") != "true" or "refuted" in status[id], f"seed {seed}"
