"""Structures keep what means something and lose the texts. Source: https://hl7.org/fhir/R4/elementdefinition.html."""

from __future__ import annotations

import json
from typing import Any

import pytest

from bridge.profiles.facts import facts
from tests.standards import standard_json

LOST = {
    "short", "definition", "comment", "requirements", "alias", "mapping", "example", "label", "code", "isSummary",
    "isModifierReason", "orderMeaning", "meaningWhenMissing", "condition", "extension",
}  # fmt: skip
"""Of ElementDefinition; texts, and what says nothing about whether data are right."""

KEPT = {
    "id", "path", "sliceName", "sliceIsConstraining", "slicing", "min", "max", "base", "type", "contentReference",
    "binding", "constraint", "mustSupport", "isModifier", "representation", "maxLength",
}  # fmt: skip


def definition(**said: Any) -> dict[str, Any]:
    return {"resourceType": "StructureDefinition", "differential": {"element": [{"path": "Patient", **said}]}}


def element(**said: Any) -> dict[str, Any]:
    found: dict[str, Any] = facts(definition(**said))["differential"][0]
    return found


def test_what_a_definition_says_of_itself() -> None:
    found = facts(
        {
            "resourceType": "StructureDefinition",
            "url": "https://example.org/Ears",
            "version": "1.2.0",
            "name": "Ears",
            "title": "Ears of a patient",
            "status": "active",
            "description": "Long text",
            "kind": "complex-type",
            "abstract": False,
            "type": "Extension",
            "baseDefinition": "http://hl7.org/fhir/StructureDefinition/Extension",
            "derivation": "constraint",
            "context": [{"type": "element", "expression": "Patient"}, {"type": "fhirpath"}],
            "contextInvariant": ["true"],
            "differential": {"element": []},
        }
    )
    assert found == {
        "url": "https://example.org/Ears",
        "version": "1.2.0",
        "name": "Ears",
        "title": "Ears of a patient",
        "kind": "complex-type",
        "abstract": False,
        "type": "Extension",
        "base": "http://hl7.org/fhir/StructureDefinition/Extension",
        "derivation": "constraint",
        "context": [{"type": "element", "expression": "Patient"}, {"type": "fhirpath"}],
        "contextInvariant": ["true"],
        "differential": [],
    }


def test_the_snapshot_goes_before_the_differential() -> None:
    both = {**definition(), "snapshot": {"element": [{"path": "Patient", "id": "Patient"}]}}
    assert facts(both) == {"elements": [{"path": "Patient", "id": "Patient"}]}
    assert facts({**both, "snapshot": {"element": []}}) == {"differential": [{"path": "Patient"}]}


@pytest.mark.parametrize("file", ["fhir-r4/profiles-types", "fhir-r4/profiles-resources", "fhir-r4/profiles-others"])
def test_no_property_of_a_published_element_goes_unnoticed(file: str) -> None:
    """Oracle: FHIR R4 4.0.1. Whatever stands in its snapshots is kept as it is, or is in the list of what is lost."""
    values = ("fixed", "pattern", "minValue", "maxValue")
    for entry in standard_json(f"{file}.json.gz")["entry"]:
        published = entry["resource"]
        if published["resourceType"] != "StructureDefinition":
            continue
        for before, after in zip(published["snapshot"]["element"], facts(published)["elements"], strict=True):
            for key, value in before.items():
                if key in KEPT or key.startswith(values):
                    assert _without_texts(value) == after.get(key, False if value is False else None), before["id"]
                else:
                    assert key in LOST, key
                    assert key not in after


def _without_texts(value: Any) -> Any:
    """The value as the contract of `facts` says it, told in another way than there."""
    if isinstance(value, list):
        return [_without_texts(one) for one in value]
    if not isinstance(value, dict):
        return value
    lost = {"description", "xpath", "requirements"}
    kept = {key: _without_texts(one) for key, one in value.items() if key not in lost}
    meaning = ("fhir-type", "/regex", "maxValueSet", "minValueSet")
    extensions = [one for one in value.get("extension", ()) if one["url"].endswith(meaning)]
    kept.pop("extension", None)
    return {**kept, "extension": extensions} if extensions else kept


def test_a_structure_is_much_smaller() -> None:
    published = standard_json("ips/StructureDefinition-Bundle-uv-ips.json")
    assert len(json.dumps(facts(published))) < len(json.dumps(published)) / 2


@pytest.mark.parametrize(
    ("said", "kept"),
    [
        ({"min": "1", "max": 1}, {}),
        ({"min": True}, {}),
        ({"min": 1.5}, {}),
        ({"mustSupport": "true", "isModifier": False}, {}),
        ({"type": "Reference"}, {}),
        ({"type": [1, {"profile": ["x"]}, {"code": "Reference", "targetProfile": ["x", 1]}]},
         {"type": [{"code": "Reference", "targetProfile": ["x"]}]}),
        ({"binding": ["required"]}, {}),
        ({"binding": {"strength": 1, "valueSet": "x"}}, {"binding": {"valueSet": "x"}}),
        ({"constraint": [{"human": "no key"}, {"key": "a-1", "expression": 5}]}, {"constraint": [{"key": "a-1"}]}),
        ({"slicing": True}, {}),
        ({"slicing": {"rules": "open", "ordered": "no", "discriminator": [1, {"type": "value", "path": 1}]}},
         {"slicing": {"rules": "open", "discriminator": [{"type": "value"}]}}),
        ({"base": {"path": "x", "min": "0", "max": "*"}}, {"base": {"path": "x", "max": "*"}}),
        ({"fixedUri": 5, "patternCoding": {"code": "x"}}, {"fixedUri": 5, "patternCoding": {"code": "x"}}),
    ],
)  # fmt: skip
def test_what_has_another_shape_is_left_out(said: dict[str, Any], kept: dict[str, Any]) -> None:
    assert element(**said) == {"path": "Patient", **kept}


@pytest.mark.parametrize("view", [None, 1, [], {"element": {}}, {"element": [None, "x", 1]}])
def test_nothing_is_raised_for_an_odd_definition(view: Any) -> None:
    odd = {"url": 1, "context": "x", "contextInvariant": {}, "abstract": 1, "snapshot": view, "differential": view}
    assert facts(odd) == {"differential": []}
