"""No finding on the wrong ear, of the wrong client, at the wrong visit, or surer than it was said.

Oracle: `judge`, which reads the raw bundle by itself; what takes a statement back is told by the definitions of FHIR R4
(isModifier elements, https://hl7.org/fhir/R4/conformance-rules.html#isModifier).
"""

from __future__ import annotations

import os
from collections import Counter
from typing import Any

import pytest

from bridge.receive.foreign import read_foreign
from tests.receive.foreign import judge
from tests.receive.foreign.law import lost, walk
from tests.receive.foreign.strangers import bundle

MANY = 2_000 if os.environ.get("VISIT_BRIDGE_MANY") else 300
UNSIDED = {"AllergyIntolerance": "allergies", "MedicationStatement": "medicines"}
Json = dict[str, Any]


def said(visits: dict[str, Json]) -> list[tuple[str, str, str, str]]:
    """Visit, token, path and certainty of every statement of a visit."""
    found = []
    for number, data in visits.items():
        for path, value in walk(data):
            if not (token := judge.TOKEN.search(str(value))):
                continue
            around: Any = data
            for step in path.replace("[", ".").replace("]", "").split(".")[:-1]:
                around = around[int(step)] if isinstance(around, list) else around[step]
            found.append((number, token[0], path, around.get("assertion") or "present"))
    return found


def faults(raw: Json) -> tuple[list[str], Counter[str]]:
    foreign = read_foreign(raw)
    visits = {v.number: v.model_dump(mode="json") for v in foreign.visits}
    resources = {}
    titles = {}
    for entry in raw["entry"]:
        resource = entry["resource"]
        for path, value in walk(resource):
            if met := judge.TOKEN.search(str(value)):
                resources[met[0]] = resource
            if resource["resourceType"] == "Composition" and path.endswith("reference"):
                titles[value] = next(v for p, v in walk(resource) if p.endswith("code.coding[0].code"))
    wrong = [f"lost {leaf}" for leaf in lost(raw, visits, foreign.kept, foreign.account)]
    told = said(visits)
    for number, token, path, certainty in told:
        resource = resources[token]
        may = judge.certainty(resource, titles)
        ear = path.partition(".")[0]
        if number != judge.visit(resource):
            wrong.append(f"{token}: at visit {number}")
        if visits[number]["client"]["legal_name"]["family"] != judge.client(resource):
            wrong.append(f"{token}: of another client")
        if ear not in judge.ears(resource) and ear != UNSIDED.get(resource["resourceType"]):
            wrong.append(f"{token}: in {path}, the source says {sorted(judge.ears(resource))}")
        if certainty != may or (certainty == "past") != (".history[" in path):
            wrong.append(f"{token}: {certainty} in {path}, the source says {may}")
    missed, counts = missing(resources, titles, told)
    return wrong + missed, counts


def missing(
    resources: dict[str, Json], titles: dict[str, str], told: list[tuple[str, str, str, str]]
) -> tuple[list[str], Counter[str]]:
    """Statements that are as clear as can be and stand in no visit; and how many of each kind were to be there.

    An observation of an ear that was worked on may lack the time to tell before from after, so it is not asked for.
    """
    there = {(token, path.partition(".")[0]) for _, token, path, _ in told}
    worked = {judge.visit(r) for r in resources.values() if r["resourceType"] == "Procedure"}
    wrong, counts = [], Counter[str]()
    for token, resource in resources.items():
        clear = judge.certainty(resource, titles) != "nothing" and judge.visit(resource)
        if not clear or (resource["resourceType"] == "Observation" and judge.visit(resource) in worked):
            continue
        for ear in judge.ears(resource) or {UNSIDED.get(resource["resourceType"], "")} - {""}:
            counts[resource["resourceType"]] += 1
            if (token, ear) not in there:
                wrong.append(f"{token}: a clear {resource['resourceType']} that is in no visit")
    return wrong, counts


def test_generated_bundles_are_read_safely_and_whole() -> None:
    counts = Counter[str]()
    for seed in range(MANY):
        wrong, seen = faults(bundle(seed))
        assert wrong == [], f"seed {seed}"
        counts += seen
    assert min(counts[kind] for kind in ("Condition", "Observation", "Procedure", *UNSIDED)) > MANY // 20


@pytest.mark.parametrize("change", ["side", "client", "state"])
def test_the_judge_finds_what_it_is_made_to_find(change: str) -> None:
    """Read as it is and judged against a raw bundle in which one thing is another, faults must show."""
    found = 0
    for seed in range(100):
        raw = bundle(seed)
        visits = {v.number: v.model_dump(mode="json") for v in read_foreign(raw).visits}
        for entry in raw["entry"]:
            _turn(entry["resource"], change)
        resources = {
            t[0]: e["resource"]
            for e in raw["entry"]
            for _, v in walk(e["resource"])
            if (t := judge.TOKEN.search(str(v)))
        }
        for number, token, path, certainty in said(visits):
            resource = resources[token]
            ear = path.partition(".")[0]
            found += ear not in judge.ears(resource) and ear != UNSIDED.get(resource["resourceType"])
            found += number != judge.visit(resource)
            found += certainty != judge.certainty(resource, {})
    assert found > 30


def _turn(resource: Json, change: str) -> None:
    if not {"subject", "patient"} & set(resource) or resource["resourceType"] == "Encounter":
        return
    if change == "side":
        sites = resource.get("bodySite", [])
        for site in sites if isinstance(sites, list) else [sites]:
            for coding in site.get("coding", []):
                turned = {
                    "89644007": "25577004",
                    "25577004": "89644007",
                    "71471005": "45124007",
                    "45124007": "71471005",
                }
                coding["code"] = turned.get(coding["code"], coding["code"])
            site.pop("text", None)
            for coding in site.get("coding", []):
                coding.pop("display", None)
    elif change == "client":
        resource["patient" if "patient" in resource else "subject"] = {"reference": "Patient/p2"}
    else:
        key = "verificationStatus" if resource["resourceType"] in ("Condition", "AllergyIntolerance") else "status"
        gone = "entered-in-error"
        resource[key] = {"coding": [{"code": gone}]} if key == "verificationStatus" else gone
