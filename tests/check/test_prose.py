"""What R4 demands in prose alone (V450 to V499): each rule rests on its element's text, and gate and walk agree on it.

Oracle of the demands: the definitions, comments and requirements of the elements in profiles-types.json and
profiles-resources.json of FHIR R4 4.0.1. Errors rest on SHALL, must, or a definition that fixes the form of a value.
"""

from __future__ import annotations

import random
import re
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest
import yaml

from bridge.check import gate
from bridge.check.conformance import careful, check_conformance
from bridge.check.invariants import _ROOMS, constraints
from bridge.check.invariants.prose_types import data_points
from bridge.check.invariants.registry import RULES as RULES_BY_TYPE
from bridge.check.node import OUTERMOST, Node
from bridge.fhir import tables
from bridge.issues import Severity, rules
from tests.standards import standard_json

CASES = Path(__file__).parents[1] / "cases"
RULES = [code for code in sorted(rules()) if "V450" <= code <= "V499"]
DEMANDS = {
    "V450": ("Extension.url", "SHALL be a URI"),
    "V453": ("Identifier.value", "SHALL be urn:ietf:rfc:3986"),
    "V454": ("Attachment.size", "number of bytes"),
    "V455": ("Attachment.hash", "SHA-1"),
    "V456": ("RelatedArtifact.url", "SHALL NOT"),
    "V457": ("SampledData.data", "decimal values"),
    "V460": ("ValueSet.url", "absolute URI"),
    "V461": ("ConceptMap.group.source", "absolute URI"),
    "V462": ("ElementDefinition.max", "number or"),
    "V463": ("PlanDefinition.action.goalId", "must"),
    "V464": ("StructureMap.group.name", "unique"),
    "V465": ("GraphDefinition.link.path", "cannot"),
    "V466": ("GraphDefinition.link.target.params", "must"),
    "V467": ("TestScript.origin.index", "cannot"),
    "V468": ("TestScript.setup.action.operation.destination", "Must"),
    "V469": ("TestScript.setup.action.assert.headerField", "must"),
    "V470": ("CapabilityStatement.fhirVersion", "SHALL be the same"),
    "V471": ("DataRequirement.mustSupport", "SHALL consist only"),
    "V472": ("ElementDefinition.minValue[x]", "SHALL be the same"),
    "V473": ("ElementDefinition.example.value[x]", "must"),
    "V474": ("ValueSet.compose.include.filter.value", "(true and false)"),
    "V480": ("AllergyIntolerance.code", "SHALL be omitted"),
    "V481": ("Group.type", "SHALL"),
    "V482": ("Claim.insurance.focal", "only one"),
    "V483": ("Claim.insurance.claimResponse", "Must not"),
    "V484": ("AuditEvent.agent.requestor", "only be one"),
    "V485": ("MedicationRequest.dispenseRequest.initialFill", "must"),
    "V486": ("Invoice.cancelledReason", "must"),
    "V487": ("Subscription.channel.endpoint", "must"),
    "V488": ("VisionPrescription.lensSpecification.axis", "limits"),
    "V489": ("Bundle.entry.search.score", "between 0 and 1"),
    "V490": ("List.entry.deleted", "only"),
}
"""Rule to the element it rests on, and the word in its text that makes it a demand."""
ON_PAGES = {"V451", "V452", "V459"}
"""Demanded by pages of the standard (datatypes, terminologies, references), not by a definition."""
ANY: list[Any] = [None, "", "a", "http://example.org", -1, 1.5, True, [], [None], {}, {"a": [1]}, [{"url": 1}], [[]]]


@cache
def texts() -> dict[str, str]:
    found: dict[str, str] = {}
    for name in ("profiles-types", "profiles-resources"):
        for entry in standard_json(f"fhir-r4/{name}.json.gz")["entry"]:
            for element in entry["resource"].get("snapshot", {}).get("element", ()):
                parts = (element.get(key, "") for key in ("short", "definition", "comment", "requirements"))
                found.setdefault(element["path"], " ".join(parts))
    return found


def cases(code: str) -> list[Any]:
    read = yaml.safe_load((CASES / f"{code}.yaml").read_text(encoding="utf-8"))
    return [*read["passes"], *(fail["given"] for fail in read["fails"])]


def test_every_rule_has_its_demand() -> None:
    assert set(DEMANDS) | ON_PAGES == set(RULES)


@pytest.mark.parametrize("code", DEMANDS)
def test_the_element_says_so(code: str) -> None:
    path, word = DEMANDS[code]
    assert word in texts()[path]
    if re.search(r"SHALL|[Mm]ust", word) and code != "V453":
        assert rules()[code].severity is Severity.error


@pytest.mark.parametrize("code", RULES)
def test_the_gate_agrees(code: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """By itself, and as the entry of a Bundle, where the gate looks by another way."""
    monkeypatch.setattr(gate, "WORTH", 0)
    for resource in cases(code):
        assert check_conformance(resource) == careful(resource)
        entry = {"fullUrl": "urn:uuid:53fefa32-fcbb-4ff8-8a92-55ee120877b7", "resource": resource}
        bundle = {"resourceType": "Bundle", "type": "collection", "entry": [entry]}
        assert check_conformance(bundle) == careful(bundle)


@pytest.mark.parametrize(
    ("room", "low", "high"), [("prose_definitions", "V460", "V479"), ("prose_records", "V480", "V499")]
)
def test_a_room_is_opened_by_all_its_types(room: str, low: str, high: str) -> None:
    import_module(f"bridge.check.invariants.{room}")
    roots = {type.partition(".")[0] for type, rows in RULES_BY_TYPE.items() if any(low <= r[0] <= high for r in rows)}
    assert roots == set(_ROOMS[room].split())


def test_any_data_is_answered() -> None:
    """No function raises for values of wrong kinds."""
    choose = random.Random(7)
    for type in tables.types():
        mine = [holds for code, _, holds in constraints(type) if "V450" <= code <= "V499"]
        for _ in range(40 if mine else 0):
            value = {name: choose.choice(ANY) for name in tables.elements(type) if choose.random() < 0.7}
            for holds in mine:
                assert holds(value, Node("", type, value, OUTERMOST, value)) in (True, False)


@pytest.mark.parametrize(
    ("data", "fine"),
    [("", True), ("1", True), ("-0.50 1E-3 E L U", True), ("+1", False), (".5", False), ("5.", False), ("NaN", False)],
)
def test_sampled_data_follows_the_pattern_of_decimals(data: str, fine: bool) -> None:
    """Oracle: the pattern of decimal on page datatypes: no sign plus, a digit on both sides of the point."""
    value = {"data": data}
    assert data_points(value, Node("", "SampledData", value, OUTERMOST, value)) is fine
