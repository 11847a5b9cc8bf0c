"""Nothing of a bundle is lost: every leaf is in the visit that the account names, or kept and named.

Oracle: `law`, which walks the raw bundle by itself. Material: every published example of FHIR R4, IPS and UK Core that
is here, alone and all in one bundle, changed at random, and a clinic's bundle in another style than ours.
"""

from __future__ import annotations

import copy
import json
import os
import random
from pathlib import Path
from typing import Any

import pytest

from bridge.fhir.received import read_received
from bridge.receive.foreign import Foreign, kept_bundle, read_foreign
from tests.receive.foreign.law import lost, walk
from tests.standards import standards_file

MANY = min(60, int(os.environ.get("VISIT_BRIDGE_MANY") or 1))
CLINIC = Path(__file__).parent / "ear_clinic.json"
Json = dict[str, Any]


def examples() -> list[Json]:
    """Every published example that can be read, as plain data."""
    paths = sorted(standards_file("fhir-r4-examples").rglob("*.json"))
    found = [read_received(path.read_bytes())[0] for path in paths]
    assert len(found) > 100
    return [data for data in found if isinstance(data, dict)]


def as_bundle(data: Json) -> Json:
    if data.get("resourceType") == "Bundle":
        return data
    return {"resourceType": "Bundle", "type": "collection", "entry": [{"resource": data}]}


def judged(bundle: Json) -> tuple[list[str], Foreign]:
    before = copy.deepcopy(bundle)
    foreign = read_foreign(bundle)
    visits = {v.number: v.model_dump(mode="json") for v in foreign.visits}
    faults = lost(bundle, visits, foreign.kept, foreign.account)
    faults += ["the bundle was changed"] if bundle != before else []
    return faults, foreign


def test_published_examples_lose_nothing() -> None:
    leaves = 0
    for data in examples():
        bundle = as_bundle(data)
        if "entry" not in bundle:
            continue
        resources = [e for e in bundle["entry"] if isinstance(e.get("resource"), dict)]
        faults, foreign = judged({**bundle, "entry": resources})
        assert faults == []
        assert len(foreign.kept) == len(resources)
        leaves += sum(1 for _ in walk(resources))
    assert leaves > 8_000


def test_published_examples_in_one_bundle_lose_nothing() -> None:
    """All of them together: several clients, references that lead to some of them, ids that occur twice."""
    single = [data for data in examples() if data.get("resourceType") != "Bundle"]
    faults, _ = judged({"resourceType": "Bundle", "type": "collection", "entry": [{"resource": r} for r in single]})
    assert faults == []


def test_published_examples_lose_nothing_as_parts_of_one_visit() -> None:
    """Each client of the examples with a visit, to which everything else is said to belong."""
    single = [copy.deepcopy(data) for data in examples() if data.get("resourceType") != "Bundle"]
    patients = [r for r in single if r["resourceType"] == "Patient"]
    held = 0
    for number, patient in enumerate(patients):
        encounter = {
            "resourceType": "Encounter",
            "id": "visit",
            "status": "finished",
            "class": {"system": "http://terminology.hl7.org/CodeSystem/v3-ActCode", "code": "AMB"},
            "subject": {"reference": f"Patient/{patient.get('id')}"},
            "period": {"start": "2015-01-01"},
        }
        others = [r for r in copy.deepcopy(single) if r["resourceType"] not in ("Patient", "Encounter")]
        for resource in others:
            about = "patient" if resource["resourceType"] in ("AllergyIntolerance", "Consent") else "subject"
            resource[about] = encounter["subject"]
            resource["context" if resource["resourceType"] == "MedicationStatement" else "encounter"] = {
                "reference": "Encounter/visit"
            }
            for dated in ("effectiveDateTime", "effectivePeriod", "effectiveInstant", "performedDateTime"):
                resource.pop(dated, None)
            if number % 2 and resource["resourceType"] in ("Condition", "Procedure", "Observation"):
                site = {"coding": [{"system": "http://snomed.info/sct", "code": "89644007"}]}
                resource["bodySite"] = site if resource["resourceType"] == "Observation" else [site]
        entries = [{"resource": r} for r in (patient, encounter, *others)]
        faults, foreign = judged({"resourceType": "Bundle", "type": "collection", "entry": entries})
        assert faults == []
        held += sum(line.state != "kept" for line in foreign.account)
    assert held > 5 * len(patients)


@pytest.mark.parametrize("seed", range(3 * MANY))
def test_changed_bundles_lose_nothing(seed: int) -> None:
    rng = random.Random(seed)
    bundles = [as_bundle(data) for data in examples()]
    bundles = [b for b in bundles if all(isinstance(e.get("resource"), dict) for e in b.get("entry", [{}]))]
    bundles += [json.loads(CLINIC.read_text(encoding="utf-8"))] * 20
    for bundle in bundles:
        changed = copy.deepcopy(bundle)
        for _ in range(rng.randint(1, 6)):
            change(rng, rng.choice(changed["entry"])["resource"])
        assert judged(changed)[0] == []


def change(rng: random.Random, resource: Json) -> None:
    """One change at any place: another type, a long or strange text, something more, something less."""
    places: list[tuple[Any, Any]] = []
    waiting: list[Any] = [resource]
    for node in waiting:
        inner = node.items() if isinstance(node, dict) else enumerate(node)
        for key, value in inner:
            places.append((node, key))
            if isinstance(value, dict | list):
                waiting.append(value)
    node, key = rng.choice(places)
    if key == "resourceType":
        return
    others: list[Any] = [
        None,
        True,
        7,
        -0.5,
        "",
        " x ",
        "y" * 300,
        "z\x00",
        [],
        {},
        [[]],
        {"a": {"b": ["c"]}},
        [7, "a"],
    ]
    others += [{"coding": "x"}, {"coding": [{"system": 1, "code": []}]}, "2026-13-45", "99999-01-01T00:00:00Z"]
    node[key] = rng.choice(others)


def test_a_bundle_of_another_maker_loses_nothing_and_its_references_still_lead_somewhere() -> None:
    bundle = json.loads(CLINIC.read_text(encoding="utf-8"))
    faults, foreign = judged(bundle)
    assert faults == []
    assert len(foreign.visits) == 1
    kept = kept_bundle(foreign)
    assert kept is not None
    urls = {e.get("fullUrl") for e in kept["entry"]} | {
        f"{e['resource']['resourceType']}/{e['resource']['id']}" for e in kept["entry"]
    }
    told = {v for path, v in walk(kept) if path.endswith(".reference") and not v.startswith("#")}
    assert {t.partition("/_history/")[0] for t in told} <= urls


def test_the_law_is_broken_by_what_breaks_it() -> None:
    bundle = json.loads(CLINIC.read_text(encoding="utf-8"))
    foreign = read_foreign(bundle)
    visits = {v.number: v.model_dump(mode="json") for v in foreign.visits}
    assert lost(bundle, visits, foreign.kept[1:], foreign.account)
    assert lost(bundle, visits, foreign.kept, foreign.account[1:])
    assert lost(bundle, {n: {**v, "left": None} for n, v in visits.items()}, foreign.kept, foreign.account)
    bundle["entry"][0]["resource"]["multipleBirthInteger"] = 2
    assert lost(bundle, visits, foreign.kept, foreign.account)


@pytest.mark.parametrize(
    "data",
    [
        None, 7, "Bundle", [], [1, {}], {}, {"resourceType": "Bundle"},
        {"resourceType": "Bundle", "type": 3, "entry": {}},
        {"resourceType": "Bundle", "type": "document", "entry": [None, 1, [], {"resource": None}, {"resource": []}]},
        {"resourceType": "Bundle", "type": "collection", "entry": [{"resource": {}}, {"resource": {"id": []}}]},
        {"resourceType": ["Bundle"], "entry": [{"resource": {"resourceType": "Patient"}}]},
        {"resourceType": "Patient", "name": {"family": 1}},
    ],
)  # fmt: skip
def test_no_shape_raises(data: Any) -> None:
    foreign = read_foreign(data)
    assert foreign.visits == []


def test_depth_does_not_matter() -> None:
    deep: Any = {"a": 1}
    for _ in range(50_000):
        deep = {"a": deep}
    resource = {"resourceType": "Condition", "subject": {"reference": "Patient/1"}, "extension": [deep]}
    foreign = read_foreign({"resourceType": "Bundle", "type": "collection", "entry": [{"resource": resource}]})
    assert foreign.kept[0] is resource


def test_long_lists_are_kept_and_lose_nothing() -> None:
    """A concept of many codings, a client of many numbers: too much to look at for a visit, and nothing is lost."""
    bundle = json.loads(CLINIC.read_text(encoding="utf-8"))
    by_id = {e["resource"]["id"]: e["resource"] for e in bundle["entry"]}
    by_id["c-right"]["code"]["coding"] = [{"system": "http://records.example.org/c", "code": str(n)} for n in range(60)]
    faults, foreign = judged(bundle)
    assert faults == []
    assert "swimmer" not in foreign.visits[0].model_dump_json()
    by_id["p-17"]["identifier"] = [{"system": "http://records.example.org/chart", "value": str(n)} for n in range(300)]
    faults, foreign = judged(bundle)
    assert (faults, foreign.visits) == ([], [])
    assert "X151" in {i.rule for i in foreign.issues}
