"""The tables of the standard: same bytes from the published definitions, and right answers.

Oracle for the answers: the pages of https://hl7.org/fhir/R4 named beside them.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.data import table_path
from bridge.fhir import tables
from bridge.fhir.generate import generate
from tests.standards import standards_file


def test_made_again_from_the_published_definitions_they_are_the_same_bytes(tmp_path: Path) -> None:
    definitions = standards_file("fhir-r4/profiles-resources.json.gz").parent
    for made in generate(definitions, tmp_path):
        assert made.read_bytes() == table_path("standard", made.name).read_bytes(), made.name


def test_the_edition_is_named() -> None:
    assert tables.edition() == "4.0.1"


def test_a_choice_is_unpacked() -> None:
    """observation.html: value[x] has eleven types."""
    values = [e for e in tables.elements("Observation").values() if e.choice == "value[x]"]
    assert len(values) == 11
    assert tables.elements("Observation")["valueQuantity"].type == "Quantity"
    assert "value[x]" not in tables.elements("Observation")


def test_inherited_elements_come_first() -> None:
    assert list(tables.elements("Patient"))[:4] == ["id", "meta", "implicitRules", "language"]


def test_content_references_lead_to_the_structure_they_repeat() -> None:
    """observation.html: component.referenceRange is as Observation.referenceRange; composition.html: sections nest."""
    assert tables.elements("Observation.component")["referenceRange"].type == "Observation.referenceRange"
    assert tables.elements("Composition.section")["section"].type == "Composition.section"


def test_required_counts_a_choice_once() -> None:
    """medicationadministration.html: medication[x] and effective[x] are 1..1."""
    names = dict(tables.required("MedicationAdministration"))
    assert set(names) == {"status", "medication[x]", "subject", "effective[x]"}
    assert names["medication[x]"] == ("medicationCodeableConcept", "medicationReference")


def test_targets_and_shapes() -> None:
    assert tables.elements("Observation")["encounter"].targets == {"Encounter"}
    assert tables.elements("Observation.referenceRange")["low"].shape == "SimpleQuantity"


def test_codes_of_a_required_list() -> None:
    """valueset-administrative-gender.html."""
    assert tables.plain_codes("administrative-gender") == {"male", "female", "other", "unknown"}
    assert tables.codes("mimetypes") is None


def test_kinds() -> None:
    assert tables.is_resource("Patient")
    assert not tables.is_resource("DomainResource")
    assert not tables.is_resource("HumanName")
    assert not tables.is_resource("Observation.component")
    assert tables.is_primitive("code")
    assert tables.elements("Nothing") == {}
    assert tables.lineage("Age") == ("Age", "Quantity", "Element")


@pytest.mark.parametrize(
    ("path", "key"),
    [
        ("Observation", "obs-6"),
        ("Condition", "con-4"),
        ("Bundle", "bdl-9"),
        ("DomainResource", "dom-3"),
        ("Element", "ele-1"),
        ("Extension", "ext-1"),
        ("Parameters.parameter", "inv-1"),
        ("Task", "inv-1"),
        ("TestReport.setup.action", "inv-1"),
    ],
)
def test_invariants_are_kept(path: str, key: str) -> None:
    row = tables.invariants()[path][key]
    assert row["expression"]
    assert row["severity"] == "error"
