"""Seeded faults: every SNOMED CT code that names an ear, put into the other ear, is told; in its own ear it is not.

Which codes name which ear is read from the tables verified by hand, not from the project's own.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest

from bridge.build import build_document
from bridge.check import check_bundle
from bridge.check.sides import laterality
from bridge.check.visit import check_visit
from bridge.visit import Visit
from tests.test_mappings import reference

SCT = "http://snomed.info/sct"
EAR = {"right": "25577004", "left": "89644007"}
OTHER = {"right": "left", "left": "right"}
BOTH = {"right", "left"}
NAMESPACE = UUID("3d3b5a9c-52e5-4cf8-9a34-2b0c36a2f0aa")
ZONE = ZoneInfo("Europe/London")
SIDES = {"C101", "C102", "C103", "C104", "C105", "M133"}


def sided() -> dict[str, set[str]]:
    """Ears by code."""
    names = {"left": {"left"}, "right": {"right"}, "bilateral": BOTH}
    return {r["code"]: names[r["laterality"]] for r in reference("snomed-ear.csv") if r["laterality"] != "none"}


def concept(*codes: str) -> dict[str, Any]:
    return {"coding": [{"system": SCT, "code": code} for code in codes]}


def condition(code: str, site: str) -> dict[str, Any]:
    return {
        "resourceType": "Condition",
        "subject": {"display": "x"},
        "code": concept(code),
        "bodySite": [concept(site)],
    }


def finding(code: str, site: str) -> dict[str, Any]:
    body = {"resourceType": "Observation", "status": "final", "code": {"text": "x"}, "bodySite": concept(site)}
    return {**body, "valueCodeableConcept": concept(code)}


def component(code: str, site: str) -> dict[str, Any]:
    part = {"code": {"text": "x"}, "valueCodeableConcept": concept(code)}
    body = {"resourceType": "Observation", "status": "final", "code": {"text": "x"}, "bodySite": concept(site)}
    return {**body, "component": [part]}


def complication(code: str, site: str) -> dict[str, Any]:
    body = {"resourceType": "Procedure", "status": "completed", "subject": {"display": "x"}, "code": {"text": "x"}}
    return {**body, "bodySite": [concept(site)], "complication": [concept(code)]}


def site_of_code(code: str, site: str) -> dict[str, Any]:
    """The code as the body site of a finding that has a side of its own."""
    pain = {"25577004": "1010234007", "89644007": "1010233001"}[site]
    return condition(pain, code)


SHAPES = [condition, finding, component, complication, site_of_code]


def told(resource: dict[str, Any]) -> set[str]:
    return {i.rule for i in check_bundle(resource)} & SIDES


def test_every_sided_code_is_known_with_its_ear() -> None:
    assert len(sided()) >= 72
    assert {code: set(ears) for code, ears in laterality().items()} == sided()


@pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: str(shape.__name__))
def test_a_sided_code_in_the_other_ear_is_told(shape: Callable[[str, str], dict[str, Any]]) -> None:
    seeded = 0
    for code, ears in sided().items():
        for ear in BOTH:
            found = told(shape(code, EAR[ear]))
            assert found == (set() if ear in ears else {"C101"}), (code, ear, found)
            seeded += ear not in ears
    assert seeded > 55


def record(ear: str, code: str) -> Visit:
    words = {"text": "as coded", "codings": [{"system": SCT, "code": code}], "assertion": "present"}
    fields = {"impressions": [{"term": words}], "before": {"canal": {"findings": [{"term": words}]}}}
    client = {"legal_name": {"family": "Test", "given": ["A"]}, "birth_date": "1950-01-01"}
    caution = {"term": words, "ear": ear}
    return Visit.model_validate(
        {"number": "V1", "start": "2026-03-02", "client": client, ear: fields, "cautions": [caution]}
    )


def test_a_sided_code_in_a_record_is_told_there_and_in_the_document() -> None:
    """Record, code and site: the site is made from the record's ear, and the code must agree with both."""
    seeded = 0
    for code, ears in sided().items():
        for ear in BOTH:
            visit = record(ear, code)
            at = {i.where.path for i in check_visit(visit) if i.rule == "M133"}
            made = {i.rule for i in check_bundle(build_document(visit, NAMESPACE, ZONE))} & SIDES
            if ear in ears:
                assert (at, made) == (set(), set()), (code, ear)
            else:
                wanted = {f"{ear}.impressions[0].term", f"{ear}.before.canal.findings[0].term", "cautions[0].term"}
                assert at == wanted, (code, ear)
                assert "C101" in made, (code, ear)
                seeded += 1
    assert seeded > 55
