"""Profiles hold what goes beyond the standard, and nothing else.

Oracles: the snapshots published with FHIR R4 4.0.1 (a type of the standard goes beyond nothing) and with IPS 2.0.0.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from bridge.profiles.compile import compile_profile
from tests.standards import standard_json, standards_folder

BEYOND_ITS_OWN_TABLES = {
    "Quantity": {"constraints", "max"},  # SimpleQuantity and MoneyQuantity, which are profiles of Quantity
    "integer": {"least", "most"},  # the tables of elements say nothing of what is within a simple type
    "string": {"length"},
    "xhtml": {"max", "min"},
}


def nodes(node: dict[str, Any]) -> Iterator[dict[str, Any]]:
    yield node
    for inner in (*node.get("parts", ()), *node.get("slices", ())):
        yield from nodes(inner)


def structure_of(definition: dict[str, Any]) -> dict[str, Any]:
    kept = {key: definition[key] for key in ("url", "type", "name", "kind") if key in definition}
    return {**kept, "elements": definition["snapshot"]["element"]}


@pytest.mark.parametrize("file", ["profiles-resources", "profiles-types"])
def test_a_type_of_the_standard_asks_for_nothing_more(file: str) -> None:
    looked_at = 0
    for entry in standard_json(f"fhir-r4/{file}.json.gz")["entry"]:
        definition = entry["resource"]
        if definition["resourceType"] != "StructureDefinition" or definition["kind"] == "logical":
            continue
        profile = compile_profile(structure_of(definition))
        assert "problems" not in profile, definition["url"]
        for node in nodes(profile["root"]):
            asked = node.keys() - {"name", "id", "slice", "parts", "slices", "must", "like", "binding"}
            asked -= BEYOND_ITS_OWN_TABLES.get(definition["type"], set())
            assert asked == set(), f"{definition['url']}: {node}"
        looked_at += 1
    assert looked_at == {"profiles-resources": 148, "profiles-types": 63}[file]


def test_what_a_published_profile_asks_for() -> None:
    profile = compile_profile(structure_of(standard_json("ips/StructureDefinition-Composition-uv-ips.json")))
    section = next(part for part in profile["root"]["parts"] if part["name"] == "section")
    assert section["slicing"] == {"by": [["value", "code"]], "rules": "open", "ordered": False}
    least = {one["slice"]: one.get("min", 0) for one in section["slices"]}
    assert {name for name, count in least.items() if count} == {
        "sectionProblems", "sectionAllergies", "sectionMedications"
    }  # fmt: skip
    assert len(least) == 16
    code = next(part for part in section["slices"][0]["parts"] if part["name"] == "code")
    assert code["pattern"][1]["coding"][0]["code"]


def test_every_element_that_is_sliced_or_fixed_in_a_snapshot_is_kept() -> None:
    """Counted in the published snapshots without help of the compiler."""
    files = sorted(standards_folder().glob("ips/StructureDefinition-*.json"))
    for path in files or [standards_folder() / "ips/StructureDefinition-Patient-uv-ips.json"]:
        definition = standard_json(f"ips/{path.name}")
        if definition["kind"] == "logical":
            continue
        kept = {node["id"] for node in nodes(compile_profile(structure_of(definition))["root"])}
        for element in definition["snapshot"]["element"]:
            if "sliceName" in element or any(key.startswith(("fixed", "pattern")) for key in element):
                assert element["id"] in kept, element["id"]


def test_a_slice_of_an_element_that_was_left_out_is_kept() -> None:
    """As in the published snapshot of familymemberhistory-genetic."""
    elements = [{"id": "Patient"}, {"id": "Patient.name:one", "sliceName": "one", "min": 1}]
    profile = compile_profile({"type": "Patient", "elements": elements})
    assert "problems" not in profile
    (name,) = profile["root"]["parts"]
    assert (name["id"], [one["slice"] for one in name["slices"]]) == ("Patient.name", ["one"])


@pytest.mark.parametrize(
    "structure",
    [
        {},
        {"type": "Patient"},
        {"type": "Nothing", "elements": [{"id": "Nothing", "path": "Nothing"}]},
        {"type": "Patient", "elements": "no list"},
        {"type": "Patient", "elements": [None, 1, {}, {"id": 5}]},
        {"type": "Patient", "elements": [{"id": "Patient"}, {"id": "Patient.name.given"}]},
        {"type": "Patient", "elements": [{"id": "Patient"}, {"id": "Patient.name:a.given"}]},
        {"type": "Patient", "elements": [{"id": "Patient"}, {"id": "Patient.name", "type": "HumanName"}]},
        {"type": "Patient", "elements": [{"id": "Patient"}, {"id": "Patient.name", "slicing": [1], "constraint": {}}]},
        {"type": "Patient", "elements": [{"id": "Patient"}, *({"id": "Patient" + ".a" * n} for n in range(1, 500))]},
    ],
)
def test_nothing_is_raised_for_an_odd_structure(structure: dict[str, Any]) -> None:
    assert "root" in compile_profile(structure)
