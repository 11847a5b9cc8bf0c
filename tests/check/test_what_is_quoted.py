"""A report quotes what stands where a code belongs only if it looks like one: it may be somebody's birth date."""

from __future__ import annotations

import copy
import io
import json
from pathlib import Path
from typing import Any

import pytest

from bridge.check import check_bundle
from bridge.issues import Report
from bridge.report import write_report
from bridge.safe_text import like_code

BUNDLES = Path(__file__).parents[2] / "demo_bundles"
SLIPS = ("1948-06-07", "07700 900123", "07700900123", "Mrs Thistlewood, deaf", "tel-07700900123", "ann@example.org")


def bundle() -> dict[str, Any]:
    return {
        "resourceType": "Bundle",
        "type": "collection",
        "entry": [
            {
                "fullUrl": "urn:uuid:00000000-0000-4000-8000-000000000001",
                "resource": {
                    "resourceType": "Observation",
                    "status": "final",
                    "code": {"coding": [{"system": "http://snomed.info/sct", "code": "118254002"}]},
                    "subject": {"reference": "urn:uuid:00000000-0000-4000-8000-000000000002"},
                },
            },
            {
                "fullUrl": "urn:uuid:00000000-0000-4000-8000-000000000002",
                "resource": {"resourceType": "Patient", "gender": "female"},
            },
        ],
    }


def put(data: dict[str, Any], rule: str, value: str) -> None:
    observation, patient = (entry["resource"] for entry in data["entry"])
    if rule == "S101":
        patient["resourceType"] = value
    elif rule == "S102":
        patient[value] = "x"
    elif rule == "S111":
        patient["gender"] = value
    elif rule == "S160":
        observation["language"] = value
    elif rule == "B107":
        patient["resourceType"] = value
    elif rule == "B108":
        observation["subject"]["type"] = value
    elif rule == "C111":
        observation["code"]["coding"][0]["code"] = value
    elif rule == "P141":
        observation["meta"] = {"profile": [value]}
    else:
        observation["status"] = value


def reports(data: dict[str, Any]) -> tuple[set[str], str]:
    report = Report(check_bundle(data))
    written = io.StringIO()
    for form in ("text", "json", "csv"):
        write_report(report, written, form)
    return {found.rule for found in report.issues}, written.getvalue()


@pytest.mark.parametrize("rule", ["S101", "S102", "S111", "S160", "B107", "B108", "C111", "P141"])
def test_what_is_no_code_is_told_without_quoting(rule: str) -> None:
    met = set()
    for slip in SLIPS:
        data = bundle()
        put(data, rule, f"https://example.org/{slip}" if rule == "P141" else slip)
        rules, told = reports(data)
        met |= rules
        assert slip not in told
        assert slip[-8:] not in told
    assert rule in met


@pytest.mark.parametrize(
    ("rule", "slip"),
    [("S101", "Patiant"), ("S102", "birthdate"), ("S111", "Female"), ("S102", "_birthdate"),
     ("P141", "https://example.org/StructureDefinition/Some-Patient|1.0.0")],
)  # fmt: skip
def test_a_slip_of_spelling_is_shown(rule: str, slip: str) -> None:
    data = bundle()
    put(data, rule, slip)
    rules, told = reports(data)
    assert rule in rules
    assert slip in told


@pytest.mark.parametrize("element", ["status", "verificationStatus"])
def test_a_state_that_is_no_code_is_told_without_quoting(element: str) -> None:
    data = json.loads((BUNDLES / "M26-0102.bundle.json").read_bytes())
    kind = "Observation" if element == "status" else "Condition"
    resource = next(e["resource"] for e in data["entry"] if e["resource"]["resourceType"] == kind)
    given: Any = "07700 900123"
    if element == "verificationStatus":
        system = "http://terminology.hl7.org/CodeSystem/condition-ver-status"
        given = {"coding": [{"system": system, "code": given}], "text": given}
    changed = copy.deepcopy(data)
    resource = next(e["resource"] for e in changed["entry"] if e["resource"]["resourceType"] == kind)
    resource[element] = given
    rules, told = reports(changed)
    assert "B121" in rules
    assert "900123" not in told


def test_what_looks_like_a_code() -> None:
    assert all(map(like_code, ("final", "entered-in-error", "en-GB", "us-core-patient", "_birthDate", "v2.0.0")))
    assert not any(map(like_code, (*SLIPS, "", "a" * 65, "née", "12")))
