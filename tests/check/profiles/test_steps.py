"""Paths of discriminators: the restricted FHIRPath of https://hl7.org/fhir/R4/profiling.html#discriminator."""

from typing import Any

import pytest

from bridge.check.profiles.context import in_bundle, outermost
from bridge.check.profiles.steps import Step, follow, steps

PATIENT: dict[str, Any] = {"resourceType": "Patient", "id": "p", "birthDate": "1990-01-01"}
OBSERVATION: dict[str, Any] = {
    "resourceType": "Observation",
    "contained": [{"resourceType": "Device", "id": "d"}],
    "extension": [
        {"url": "https://example.org/a", "valueCode": "x"},
        {"url": "https://example.org/b", "valueCode": "y"},
    ],
    "code": {"coding": [{"system": "http://loinc.org", "code": "1"}, {"code": "2"}]},
    "subject": {"reference": "Patient/p"},
    "device": {"reference": "#d"},
    "focus": [{"reference": "Patient/none"}],
    "valueQuantity": {"value": 1},
}
BUNDLE: dict[str, Any] = {
    "resourceType": "Bundle",
    "type": "collection",
    "entry": [
        {"fullUrl": "https://example.org/fhir/Patient/p", "resource": PATIENT},
        {"fullUrl": "https://example.org/fhir/Observation/o", "resource": OBSERVATION},
    ],
}


@pytest.mark.parametrize(
    ("path", "expected"),
    [
        ("$this", []),
        ("", []),
        ("url", [("name", "url")]),
        ("code.coding.code", [("name", "code"), ("name", "coding"), ("name", "code")]),
        ("value[x]", [("name", "value")]),
        ("$this.resolve()", [("resolve", "")]),
        ("resolve().code", [("resolve", ""), ("name", "code")]),
        ("extension('https://example.org/a').value", [("extension", "https://example.org/a"), ("name", "value")]),
        ("value.ofType(Quantity)", [("name", "value"), ("type", "Quantity")]),
        ("(value as Quantity).unit", [("name", "value"), ("type", "Quantity"), ("name", "unit")]),
    ],
)
def test_steps(path: str, expected: list[tuple[str, str]]) -> None:
    assert steps(path) == tuple(Step(*one) for one in expected)


@pytest.mark.parametrize("path", ["a..b", ".", "a.", "where(b='c')", "a | b", "a b", "extension('x'", "%resource", "é"])
def test_what_is_no_such_path(path: str) -> None:
    assert steps(path) is None


@pytest.mark.parametrize(
    ("path", "expected"),
    [
        ("$this", ["Bundle.entry[1].resource"]),
        ("code", ["Bundle.entry[1].resource.code"]),
        (
            "code.coding.code",
            ["Bundle.entry[1].resource.code.coding[0].code", "Bundle.entry[1].resource.code.coding[1].code"],
        ),
        ("code.coding.system", ["Bundle.entry[1].resource.code.coding[0].system"]),
        ("value", ["Bundle.entry[1].resource.valueQuantity"]),
        ("value.ofType(Quantity).value", ["Bundle.entry[1].resource.valueQuantity.value"]),
        ("value.ofType(string)", []),
        ("extension('https://example.org/b').value", ["Bundle.entry[1].resource.extension[1].valueCode"]),
        ("extension('https://example.org/c')", []),
        ("subject.resolve()", ["Bundle.entry[0].resource"]),
        ("subject.resolve().birthDate", ["Bundle.entry[0].resource.birthDate"]),
        ("device.resolve()", ["Bundle.entry[1].resource.contained[0]"]),
        ("focus.resolve()", []),
        ("nothing.at.all", []),
        ("code.resolve()", []),
    ],
)
def test_what_they_lead_to(path: str, expected: list[str]) -> None:
    around = in_bundle(BUNDLE, "Bundle", outermost(BUNDLE, "Bundle"))
    place = "Bundle.entry[1].resource"
    context = around._replace(resource=OBSERVATION, owner=OBSERVATION, path=place)
    way = steps(path)
    assert way is not None
    met = follow([((OBSERVATION, "Observation", place, None), context)], way)
    assert [item[2] for item, _ in met] == expected
