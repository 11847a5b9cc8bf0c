"""Slices: new ones, those of a base, slices of slices and in slices.

Sources: https://hl7.org/fhir/R4/profiling.html#slicing, #reslicing and elementdefinition.html#id.
"""

from __future__ import annotations

from typing import Any

from .making import OWN, make, profile, under

BY_SYSTEM = {"discriminator": [{"type": "value", "path": "system"}], "rules": "open", "ordered": False}
BY_URL = {"discriminator": [{"type": "value", "path": "url"}], "rules": "open", "ordered": False}
IDENTIFIER = [".id", ".extension", ".use", ".type", ".system", ".value", ".period", ".assigner"]
PLAIN = {"id": "Patient.identifier:plain"}
NUMBER = (
    {"id": "Patient.identifier", "slicing": BY_SYSTEM, "min": 1},
    {"id": "Patient.identifier:number", "max": "1", "mustSupport": True},
    {"id": "Patient.identifier:number.system", "min": 1, "fixedUri": "https://example.org/number"},
)


def test_a_slice_begins_as_the_element_of_the_base() -> None:
    made, problems = make(profile("numbered", "Patient", *NUMBER, PLAIN))
    assert problems == []
    assert under(made, "Patient.identifier") == [
        "", ":number", *(f":number{part}" for part in IDENTIFIER), ":plain",
    ]  # fmt: skip
    whole, number, plain = (made[f"Patient.identifier{end}"] for end in ("", ":number", ":plain"))
    assert (whole["min"], whole["max"], whole["slicing"]) == (1, "*", BY_SYSTEM)
    assert (number["min"], number["max"], number["sliceName"], number["mustSupport"]) == (0, "1", "number", True)
    assert (plain["min"], plain["max"], "mustSupport" in plain, "slicing" in plain) == (0, "*", False, False)
    system = made["Patient.identifier:number.system"]
    assert (system["path"], system["min"], system["fixedUri"]) == (
        "Patient.identifier.system", 1, "https://example.org/number",
    )  # fmt: skip
    assert system["base"] == {"path": "Identifier.system", "min": 0, "max": "1"}
    assert made["Patient.identifier:number.use"]["binding"]["strength"] == "required"


def test_parts_of_a_slice_begin_as_the_parts_of_the_whole() -> None:
    made, _ = make(
        profile("strict", "Patient", {"id": "Patient.identifier.value", "min": 1}, *NUMBER),
    )
    assert made["Patient.identifier.value"]["min"] == 1
    assert made["Patient.identifier:number.value"]["min"] == 1


def test_a_slice_of_the_base_is_constrained_and_others_are_added() -> None:
    first = profile("numbered", "Patient", *NUMBER)
    second = profile(
        "more",
        OWN + "numbered",
        {"id": "Patient.identifier:number", "min": 1},
        {"id": "Patient.identifier:number.value", "min": 1},
        PLAIN,
        type="Patient",
    )
    made, problems = make(second, first)
    assert problems == []
    assert [id for id in under(made, "Patient.identifier") if "." not in id] == ["", ":number", ":plain"]
    number = made["Patient.identifier:number"]
    assert (number["min"], number["max"], number["mustSupport"]) == (1, "1", True)
    assert made["Patient.identifier:number.system"]["fixedUri"] == "https://example.org/number"
    assert made["Patient.identifier:number.value"]["min"] == 1
    assert made["Patient.identifier:plain"]["min"] == 0


def test_a_slice_of_a_slice() -> None:
    made, problems = make(
        profile(
            "resliced",
            "Patient",
            NUMBER[0],
            {
                **NUMBER[1],
                "slicing": {"discriminator": [{"type": "value", "path": "use"}], "rules": "closed"},
                "max": "2",
            },
            NUMBER[2],
            {"id": "Patient.identifier:number/old", "max": "1"},
            {"id": "Patient.identifier:number/old.use", "min": 1, "fixedCode": "old"},
            {"id": "Patient.identifier:plain"},
        )
    )
    assert problems == []
    assert [id for id in under(made, "Patient.identifier") if "." not in id] == [
        "", ":number", ":number/old", ":plain",
    ]  # fmt: skip
    assert under(made, "Patient.identifier:number/old") == ["", *IDENTIFIER]
    assert made["Patient.identifier:number/old.system"]["fixedUri"] == "https://example.org/number"
    assert made["Patient.identifier:number/old.use"]["fixedCode"] == "old"
    assert "fixedCode" not in made["Patient.identifier:number.use"]
    assert made["Patient.identifier:number/old"]["sliceName"] == "number/old"
    assert made["Patient.identifier:number"]["slicing"]["rules"] == "closed"


def test_slices_in_slices() -> None:
    made, problems = make(
        profile(
            "parted",
            "Observation",
            {
                "id": "Observation.component",
                "slicing": {"discriminator": [{"type": "pattern", "path": "code"}], "rules": "open"},
            },
            {"id": "Observation.component:left", "min": 1, "max": "1"},
            {"id": "Observation.component:left.code.coding", "slicing": BY_SYSTEM},
            {"id": "Observation.component:left.code.coding:loinc", "min": 1},
            {"id": "Observation.component:left.code.coding:loinc.system", "fixedUri": "http://loinc.org"},
        )
    )
    assert problems == []
    coding = [".id", ".extension", ".system", ".version", ".code", ".display", ".userSelected"]
    assert under(made, "Observation.component:left.code") == [
        "", ".id", ".extension", ".coding", ".coding:loinc", *(f".coding:loinc{part}" for part in coding), ".text",
    ]  # fmt: skip
    assert "Observation.component.code.coding" not in made
    assert made["Observation.component:left.code.coding:loinc"]["path"] == "Observation.component.code.coding"


def test_extensions_are_sliced_by_url_without_saying_so_and_stay_folded() -> None:
    said: list[dict[str, Any]] = [
        {"id": "Patient.extension:ears", "type": [{"code": "Extension", "profile": [OWN + "ears"]}], "max": "1"},
        {"id": "Patient.birthDate.extension:time", "type": [{"code": "Extension", "profile": [OWN + "time"]}]},
    ]
    made, problems = make(profile("extended", "Patient", *said))
    assert problems == []
    for whole in ("Patient.extension", "Patient.birthDate.extension"):
        slicing = made[whole]["slicing"]
        assert (slicing["discriminator"], slicing["rules"]) == (BY_URL["discriminator"], "open")
    assert under(made, "Patient.extension:ears") == [""]
    assert made["Patient.extension:ears"]["type"] == said[0]["type"]
    assert under(made, "Patient.birthDate") == ["", ".id", ".extension", ".extension:time", ".value"]


def test_an_extension_that_the_differential_goes_into_has_the_parts_of_its_own_definition() -> None:
    ears = profile(
        "ears",
        "Extension",
        {"id": "Extension.extension", "max": "0"},
        {"id": "Extension.url", "fixedUri": OWN + "ears"},
    )
    made, problems = make(
        profile(
            "extended",
            "Patient",
            {"id": "Patient.extension:ears", "type": [{"code": "Extension", "profile": [OWN + "ears"]}]},
            {"id": "Patient.extension:ears.value[x]", "min": 1, "type": [{"code": "string"}]},
        ),
        ears,
    )
    assert problems == []
    assert under(made, "Patient.extension:ears") == ["", ".id", ".extension", ".url", ".value[x]"]
    assert made["Patient.extension:ears.url"]["fixedUri"] == OWN + "ears"
    assert made["Patient.extension:ears.extension"]["max"] == "0"
    assert [row["code"] for row in made["Patient.extension:ears.value[x]"]["type"]] == ["string"]


def test_slices_are_matched_by_order_where_there_are_no_ids() -> None:
    said: list[dict[str, Any]] = [
        {"path": "Patient.identifier", "slicing": BY_SYSTEM},
        {"path": "Patient.identifier", "sliceName": "number", "min": 1},
        {"path": "Patient.identifier.system", "fixedUri": "https://example.org/number"},
        {"path": "Patient.identifier", "sliceName": "plain"},
        {"path": "Patient.identifier.system", "fixedUri": "https://example.org/plain"},
    ]
    made, problems = make(profile("pathed", "Patient", *said))
    assert problems == []
    assert made["Patient.identifier:number.system"]["fixedUri"] == "https://example.org/number"
    assert made["Patient.identifier:plain.system"]["fixedUri"] == "https://example.org/plain"
    assert "fixedUri" not in made.get("Patient.identifier.system", {})


def test_the_name_of_a_slice_with_a_point_does_not_break_the_ids() -> None:
    said: list[dict[str, Any]] = [
        {"path": "Patient.identifier", "slicing": BY_SYSTEM},
        {"path": "Patient.identifier", "id": "Patient.identifier:a.b", "sliceName": "a.b"},
        {"path": "Patient.identifier.system", "id": "Patient.identifier:a.b.system", "min": 1},
    ]
    made, problems = make(profile("pointed", "Patient", *said))
    assert problems == []
    assert under(made, "Patient.identifier:") == ["a_b", *(f"a_b{part}" for part in IDENTIFIER)]
    assert made["Patient.identifier:a_b.system"]["min"] == 1
