"""Parts that come of a type, of a profile of a type, or of the element that is repeated; choices of types.

Sources: https://hl7.org/fhir/R4/profiling.html and
https://hl7.org/fhir/R4/elementdefinition-definitions.html#ElementDefinition.contentReference.
"""

from __future__ import annotations

from .making import CORE, OWN, make, profile, under

QUANTITY = [".id", ".extension", ".value", ".comparator", ".unit", ".system", ".code"]
BY_TYPE = [{"type": "type", "path": "$this"}]


def test_nothing_is_unfolded_unasked() -> None:
    made, problems = make(profile("plain", "Observation", {"id": "Observation.subject", "min": 1}))
    published, _ = make(profile("nothing", "Observation"))
    assert problems == []
    assert list(made) == list(published)
    assert made["Observation.subject"]["min"] == 1
    assert published["Observation.subject"]["min"] == 0


def test_what_is_repeated_has_the_parts_of_what_it_repeats() -> None:
    made, problems = make(profile("asked", "Questionnaire", {"id": "Questionnaire.item.item.linkId", "maxLength": 8}))
    assert problems == []
    outer = [id.removeprefix(".") for id in under(made, "Questionnaire.item.") if not id.startswith("item.")]
    inner = under(made, "Questionnaire.item.item.")
    assert inner == outer
    item, deeper = made["Questionnaire.item.item"], made["Questionnaire.item.item.item"]
    assert ("contentReference" in item, item["type"]) == (False, [{"code": "BackboneElement"}])
    assert deeper["contentReference"] == f"{CORE}Questionnaire#Questionnaire.item"
    assert made["Questionnaire.item.item.linkId"]["maxLength"] == 8
    assert "maxLength" not in made["Questionnaire.item.linkId"]
    assert made["Questionnaire.item.item.answerOption.value[x]"]["path"] == (
        "Questionnaire.item.item.answerOption.value[x]"
    )


def test_a_profile_of_the_type_gives_its_own_parts() -> None:
    coded = profile(
        "coded",
        "CodeableConcept",
        {"id": "CodeableConcept.coding", "min": 1, "slicing": {"discriminator": BY_TYPE, "rules": "open"}},
        {"id": "CodeableConcept.coding:own"},
        {"id": "CodeableConcept.text", "max": "0"},
    )
    made, problems = make(
        profile(
            "by-profile",
            "Observation",
            {"id": "Observation.code", "type": [{"code": "CodeableConcept", "profile": [OWN + "coded"]}]},
            {"id": "Observation.code.coding", "max": "3"},
        ),
        coded,
    )
    assert problems == []
    assert under(made, "Observation.code") == ["", ".id", ".extension", ".coding", ".coding:own", ".text"]
    assert (made["Observation.code.coding"]["min"], made["Observation.code.coding"]["max"]) == (1, "3")
    assert made["Observation.code.text"]["max"] == "0"


def test_the_short_name_of_a_choice_means_its_only_slice() -> None:
    made, problems = make(
        profile("measured", "Observation", {"path": "Observation.valueQuantity.code", "fixedCode": "mm"})
    )
    assert problems == []
    assert under(made, "Observation.value[x]") == [
        "", ":valueQuantity", *(f":valueQuantity{part}" for part in QUANTITY),
    ]  # fmt: skip
    whole, one = made["Observation.value[x]"], made["Observation.value[x]:valueQuantity"]
    assert whole["slicing"] == {"discriminator": BY_TYPE, "ordered": False, "rules": "closed"}
    assert [row["code"] for row in whole["type"]] == ["Quantity"]
    assert (one["path"], one["type"], one["min"]) == ("Observation.value[x]", [{"code": "Quantity"}], 0)
    assert made["Observation.value[x]:valueQuantity.code"]["fixedCode"] == "mm"


def test_the_short_name_may_stand_in_the_path_alone() -> None:
    short = {"path": "Observation.valueQuantity", "mustSupport": True}
    long = {**short, "id": "Observation.value[x]:valueQuantity", "sliceName": "valueQuantity"}
    both = [make(profile("measured", "Observation", said)) for said in (short, long)]
    assert both[0] == both[1]
    assert both[0][1] == []


def test_a_slice_of_a_choice_may_say_its_type_itself() -> None:
    said = {"id": "Observation.value[x]:valueString", "type": [{"code": "Quantity"}]}
    made, problems = make(profile("named", "Observation", said))
    assert problems == []
    assert made["Observation.value[x]:valueString"]["type"] == [{"code": "Quantity"}]
    assert made["Observation.value[x]"]["slicing"]["rules"] == "open"


def test_two_short_names_of_a_choice_leave_it_open() -> None:
    made, problems = make(
        profile(
            "either",
            "Observation",
            {"path": "Observation.valueQuantity", "mustSupport": True},
            {"path": "Observation.valueString", "mustSupport": True},
        )
    )
    assert problems == []
    assert under(made, "Observation.value[x]") == ["", ":valueQuantity", ":valueString"]
    assert made["Observation.value[x]"]["slicing"]["rules"] == "open"
    assert len(made["Observation.value[x]"]["type"]) == 11
    assert made["Observation.value[x]:valueString"]["type"] == [{"code": "string"}]


def test_a_choice_of_one_type_has_its_parts() -> None:
    one, problems = make(
        profile(
            "one",
            "Observation",
            {"id": "Observation.value[x]", "type": [{"code": "Quantity"}]},
            {"id": "Observation.value[x].unit", "min": 1},
        )
    )
    assert problems == []
    assert under(one, "Observation.value[x]") == ["", *QUANTITY]
    many, problems = make(profile("many", "Observation", {"id": "Observation.value[x].extension", "max": "0"}))
    assert problems == []
    assert under(many, "Observation.value[x]") == ["", ".id", ".extension"]


def test_a_new_type_has_what_its_base_has_and_more() -> None:
    """A logical model on Element, with parts of its own, and a choice."""
    ear = {
        "url": OWN + "Ear",
        "type": OWN + "Ear",
        "kind": "logical",
        "derivation": "specialization",
        "base": CORE + "Element",
        "differential": [
            {"id": "Ear", "path": "Ear", "min": 0, "max": "*"},
            {"id": "Ear.side", "path": "Ear.side", "min": 1, "max": "1", "type": [{"code": "code"}]},
            {"id": "Ear.found", "path": "Ear.found", "min": 0, "max": "*", "type": [{"code": "BackboneElement"}]},
            {"id": "Ear.found.what", "path": "Ear.found.what", "min": 1, "max": "1", "type": [{"code": "Coding"}]},
        ],
    }
    made, problems = make(ear)
    assert problems == []
    assert list(made) == [
        "Ear", "Ear.id", "Ear.extension", "Ear.side", "Ear.found", "Ear.found.id", "Ear.found.extension",
        "Ear.found.modifierExtension", "Ear.found.what",
    ]  # fmt: skip
    assert made["Ear.side"]["base"] == {"path": "Ear.side", "min": 1, "max": "1"}
    assert [row["key"] for row in made["Ear.side"]["constraint"]] == ["ele-1"]
    assert made["Ear.id"]["base"]["path"] == "Element.id"
