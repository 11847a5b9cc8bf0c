"""Locations as FHIRPath. Source: the page on FHIRPath of R4, section on simple paths."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.fhir.fhirpath_of import fhirpath_of
from tests.oracles.test_outside import unable
from tests.standards import ROOT, standards_file, standards_folder

NPM = ROOT / "tests/oracles/npm"
SIMPLE = re.compile(r"[A-Z][A-Za-z]*(?:\.`?[A-Za-z][A-Za-z0-9_]*`?(?:\[\d+\])?)*")
BUNDLE = {
    "resourceType": "Bundle",
    "entry": [
        {
            "resource": {
                "resourceType": "Measure",
                "effectivePeriod": {},
                "contained": [{"resourceType": "Observation"}],
            }
        },
        {"resource": {"resourceType": "Observation", "effectivePeriod": {"start": "x"}}},
        {"resource": {"resourceType": "Nothing"}},
    ],
}


@pytest.mark.parametrize(
    ("path", "said"),
    [
        ("Observation.valueQuantity.code", "Observation.value.code"),
        ("Observation.component[0].valueQuantity.code", "Observation.component[0].value.code"),
        ("Patient._birthDate", "Patient.birthDate"),
        ("Patient._birthDate.extension[0].valueCode", "Patient.birthDate.extension[0].value"),
        ("Patient.name[0]._given[1]", "Patient.name[0].given[1]"),
        ("Patient.birthdate", "Patient"),
        ("Patient.name[0].a b", "Patient.name[0]"),
        ("Bundle.entry[0].resource.valueQuantity.code", "Bundle.entry[0].resource.value.code"),
        ("Questionnaire.item[0].item[2].initial[0].valueString", "Questionnaire.item[0].item[2].initial[0].value"),
        ("Resource", "Resource"),
        ("Patient.text.div", "Patient.text.`div`"),
        ("right.before.wax.amount", ""),
        ("$.a", ""),
        ("", ""),
    ],
)
def test_names_of_json_become_names_of_elements(path: str, said: str) -> None:
    assert fhirpath_of(path) == said


@pytest.mark.parametrize(
    ("path", "said"),
    [
        ("Bundle.entry[0].resource.effectivePeriod", "Bundle.entry[0].resource.effectivePeriod"),
        ("Bundle.entry[0].resource.contained[0].effectivePeriod", "Bundle.entry[0].resource.contained[0].effective"),
        ("Bundle.entry[1].resource.effectivePeriod.start", "Bundle.entry[1].resource.effective.start"),
        ("Bundle.entry[1].resource.status", "Bundle.entry[1].resource.status"),
        ("Bundle.entry[2].resource.x", "Bundle.entry[2].resource.x"),
        ("Bundle.entry[9].resource", "Bundle.entry[9].resource"),
    ],
)
def test_the_data_says_what_stands_inside(path: str, said: str) -> None:
    assert fhirpath_of(path, BUNDLE) == said


paths = st.text("PatientBundle.entry[0]_resource x", max_size=30).map(lambda end: f"Bundle{end}") | st.text(max_size=20)


@given(paths)
def test_any_path_is_answered_in_the_simple_subset(path: str) -> None:
    said = fhirpath_of(path, BUNDLE)
    assert not said or SIMPLE.fullmatch(said)


def leaves(node: Any, path: str) -> Iterator[tuple[str, Any]]:
    """Every place of the data as our issues spell it, with its value."""
    if not isinstance(node, dict):
        yield path, node
        return
    for key, value in node.items():
        if key == "resourceType" or key[0] == "_":
            continue
        for number, item in enumerate(value) if isinstance(value, list) else [(-1, value)]:
            place = f"{path}.{key}" if number < 0 else f"{path}.{key}[{number}]"
            yield place, None
            if item is not None:
                yield from leaves(item, place)


def test_every_location_leads_to_its_one_element(tmp_path: Path) -> None:
    """Oracle: NLM's fhirpath.js finds exactly one element there, and it has the value that stands at the path."""
    if not shutil.which("node") or not (NPM / "node_modules").exists():
        unable("Node.js or the packages of tests/oracles/npm are missing")
    standards_file("fhir-r4-examples")
    files = [
        *sorted((standards_folder() / "fhir-r4-examples").glob("*.json"))[:60],
        ROOT / "demo_bundles/M26-0110.bundle.json",
    ]
    expressions: list[str] = []
    resources = []
    for file in files:
        data = json.loads(file.read_bytes())
        asked = []
        for path, value in list(leaves(data, data["resourceType"]))[:400]:
            safe = isinstance(value, str) and value.isalnum() and value.isascii()
            said = fhirpath_of(path, data)
            asked.append(len(expressions))
            expressions.append(f"{said}.toString() = '{value}'" if safe else f"{said}.count() = 1")
        resources.append({"data": data, "nodes": [{"at": [], "base": None, "resource": [], "ask": asked}]})
    question = tmp_path / "question.json"
    question.write_text(json.dumps({"expressions": expressions, "resources": resources}), encoding="utf-8")
    command = ["node", "fhirpath.js", str(question)]
    answer = json.loads(subprocess.run(command, cwd=NPM, check=True, capture_output=True).stdout)
    asked = [number for resource in resources for number in resource["nodes"][0]["ask"]]
    told = [one for resource in answer for one in resource[0]]
    assert {expressions[n]: one for n, one in zip(asked, told, strict=True) if one != "t"} == {}
    assert len(told) > 2_000
