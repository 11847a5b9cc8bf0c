"""Nothing is read back as a plain fact that the document takes back, and nothing is lost without a word.

Oracle: the review's own list of faults, each put into a document of the demo; which states take a fact back is told
by the definitions of the code systems of FHIR R4 (https://hl7.org/fhir/R4).
"""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from bridge import bundle_to_visits, check_bundle
from bridge.fhir.in_force import ours

FOLDER = Path(__file__).parents[2] / "demo_bundles"
DOCUMENTS = {p.name: json.loads(p.read_text(encoding="utf-8")) for p in sorted(FOLDER.glob("*.bundle.json"))}
DEMO = DOCUMENTS["M26-0110.bundle.json"]
Json = dict[str, Any]


def first(bundle: Json, type: str, holding: str = "") -> Json:
    found = (e["resource"] for e in bundle["entry"] if e["resource"]["resourceType"] == type)
    return next(r for r in found if holding in json.dumps(r))


def issues(change: Callable[[Json], Any], document: Json = DEMO) -> list[tuple[str, str]]:
    bundle = copy.deepcopy(document)
    change(bundle)
    visits, found = bundle_to_visits(bundle)
    assert bool(visits) != bool(found)
    return [(i.rule, i.where.path) for i in found]


def holding(type: str) -> Json:
    return next(d for d in DOCUMENTS.values() if any(e["resource"]["resourceType"] == type for e in d["entry"]))


@pytest.mark.parametrize("name", DOCUMENTS)
def test_our_own_documents_are_in_force_and_read_whole(name: str) -> None:
    assert issues(lambda bundle: None, DOCUMENTS[name]) == []
    assert all(ours(entry["resource"]) for entry in DOCUMENTS[name]["entry"])
    assert {"B120", "B121", "B122"} & {i.rule for i in check_bundle(DOCUMENTS[name])} == set()


@pytest.mark.parametrize(
    ("type", "status"),
    [
        ("Observation", "entered-in-error"),
        ("Observation", "cancelled"),
        ("Observation", "preliminary"),
        ("Procedure", "entered-in-error"),
        ("Procedure", "preparation"),
        ("Procedure", "not-done"),
        ("ServiceRequest", "revoked"),
        ("ServiceRequest", "entered-in-error"),
        ("Communication", "not-done"),
        ("Communication", "entered-in-error"),
        ("Consent", "draft"),
        ("Consent", "entered-in-error"),
        ("Flag", "entered-in-error"),
        ("Composition", "entered-in-error"),
        ("Encounter", "cancelled"),
        ("Encounter", "planned"),
        ("MedicationStatement", "entered-in-error"),
        ("MedicationStatement", "stopped"),
        ("CarePlan", "revoked"),
        ("DeviceUseStatement", "entered-in-error"),
        ("Observation", None),
    ],
)
def test_a_state_we_never_write_is_refused_at_its_place(type: str, status: str | None) -> None:
    document = holding(type)
    at = next(n for n, e in enumerate(document["entry"]) if e["resource"]["resourceType"] == type)
    found = issues(lambda b: b["entry"][at]["resource"].update(status=status), document)
    assert ("X103", f"Bundle.entry[{at}].resource") in found


@pytest.mark.parametrize("type", ["Condition", "AllergyIntolerance"])
def test_a_diagnosis_or_allergy_entered_in_error_is_refused(type: str) -> None:
    def change(bundle: Json) -> None:
        resource = first(bundle, type)
        resource["verificationStatus"]["coding"][0]["code"] = "entered-in-error"

    assert {rule for rule, _ in issues(change, holding(type))} == {"X103"}


@pytest.mark.parametrize(
    "element",
    [
        {"modifierExtension": [{"url": "https://example.org/not", "valueBoolean": True}]},
        {"implicitRules": "https://example.org/rules"},
        {"doNotPerform": True},
    ],
    ids=lambda e: next(iter(e)),
)
def test_a_modifier_is_refused(element: Json) -> None:
    assert {r for r, _ in issues(lambda b: first(b, "ServiceRequest").update(element))} == {"X103"}


def test_a_modifier_deep_inside_is_refused() -> None:
    def change(bundle: Json) -> None:
        part = first(bundle, "Observation", '"component"')["component"][0]
        part["modifierExtension"] = [{"url": "https://example.org/not", "valueBoolean": True}]

    found = issues(change)
    assert [rule for rule, _ in found] == ["X103"]
    assert found[0][1].endswith(".component[0].modifierExtension")


def _finding(bundle: Json) -> Json:
    return first(bundle, "Observation", '"drum-finding"')


def _no_stage(bundle: Json) -> None:
    found = _finding(bundle)
    found["component"] = [c for c in found["component"] if "exam-stage" not in json.dumps(c["code"])]


def _both(bundle: Json) -> None:
    _finding(bundle)["bodySite"]["coding"][0]["code"] = "34338003"


def _twice(bundle: Json) -> None:
    bundle["entry"].append(copy.deepcopy(next(e for e in bundle["entry"] if '"wax-state"' in json.dumps(e))))


def _foreign(bundle: Json) -> None:
    bundle["entry"].append({"fullUrl": "urn:uuid:1", "resource": {"resourceType": "Immunization", "id": "1"}})


@pytest.mark.parametrize(
    "change",
    [
        lambda b: _finding(b).pop("bodySite"),
        _both,
        _no_stage,
        lambda b: _finding(b).update(code={"text": "Something"}),
        _twice,
        _foreign,
        lambda b: b["entry"].append({"fullUrl": "urn:uuid:2"}),
        lambda b: first(b, "ServiceRequest").update(intent="option"),
        lambda b: b["entry"].append(copy.deepcopy(b["entry"][-1])),
    ],
    ids=[
        "no ear",
        "both ears",
        "no stage",
        "unknown kind",
        "second state",
        "foreign type",
        "nothing",
        "intent",
        "twice",
    ],
)
def test_what_has_no_place_in_a_visit_is_named(change: Callable[[Json], Any]) -> None:
    found = issues(change)
    assert {rule for rule, _ in found} <= {"X104", "X102"}
    assert found


@pytest.mark.parametrize("at", range(len(DEMO["entry"])))
def test_every_entry_counts(at: int) -> None:
    """An entry turned into a type that no reader knows is missed by name, or the document is none of ours."""
    found = issues(lambda b: b["entry"][at]["resource"].update(resourceType="Basic"))
    assert ("X104", f"Bundle.entry[{at}]") in found or {r for r, _ in found} == {"X102"}
