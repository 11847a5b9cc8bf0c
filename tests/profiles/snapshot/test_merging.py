"""What a differential may say of an element, and what is told where it says more than its base allows.

Source: https://hl7.org/fhir/R4/profiling.html ("Limitations of Use" and what follows) and elementdefinition.html.
"""

from __future__ import annotations

from typing import Any

import pytest

from .making import CORE, OWN, make, profile

SLICED = {"discriminator": [{"type": "value", "path": "system"}], "rules": "closed"}


def test_what_is_said_is_laid_over_what_was_there() -> None:
    rule = {"key": "ear-1", "severity": "warning", "human": "Say which ear", "expression": "bodySite.exists()"}
    made, problems = make(
        profile(
            "own",
            "Observation",
            {"id": "Observation", "constraint": [rule]},
            {"id": "Observation.status", "mustSupport": True, "patternCode": "final"},
            {"id": "Observation.category", "min": 1, "max": "2"},
            {"id": "Observation.category.text", "maxLength": 20},
            {"id": "Observation.method", "binding": {"strength": "required"}},
            {"id": "Observation.subject", "type": [{"code": "Reference", "aggregation": ["bundled"]}]},
            {"id": "Observation.issued", "minValueInstant": "2020-01-01T00:00:00Z"},
        )
    )
    assert problems == []
    keys = [(row["key"], row["source"].removeprefix(CORE)) for row in made["Observation"]["constraint"]]
    assert ("obs-6", "Observation") in keys
    assert ("dom-6", "DomainResource") in keys
    assert keys[-1] == ("ear-1", OWN + "own")
    status, category, subject = (made[f"Observation.{name}"] for name in ("status", "category", "subject"))
    assert (status["mustSupport"], status["patternCode"], status["min"], status["isModifier"]) == (
        True,
        "final",
        1,
        True,
    )
    assert (category["min"], category["max"], category["base"]["max"]) == (1, "2", "*")
    assert made["Observation.category.text"]["maxLength"] == 20
    assert made["Observation.method"]["binding"]["strength"] == "required"
    assert made["Observation.method"]["binding"]["valueSet"].endswith("/observation-methods")
    assert subject["type"][0]["aggregation"] == ["bundled"]
    assert f"{CORE}Patient" in subject["type"][0]["targetProfile"]
    assert made["Observation.issued"]["minValueInstant"] == "2020-01-01T00:00:00Z"


def test_the_largest_value_set_of_the_base_stays() -> None:
    made, _ = make(
        profile(
            "spoken",
            "Patient",
            {"id": "Patient.communication.language", "binding": {"strength": "required", "valueSet": OWN + "few"}},
        )
    )
    binding = made["Patient.communication.language"]["binding"]
    assert (binding["strength"], binding["valueSet"]) == ("required", OWN + "few")
    assert [row["valueCanonical"] for row in binding["extension"]] == ["http://hl7.org/fhir/ValueSet/all-languages"]


def test_a_constraint_of_the_same_key_takes_the_place_of_the_one_before() -> None:
    rule = {"key": "ear-1", "severity": "error", "human": "One", "expression": "bodySite.exists()"}
    first = profile("one", "Observation", {"id": "Observation", "constraint": [rule]})
    second = profile(
        "two",
        OWN + "one",
        {"id": "Observation", "constraint": [{**rule, "human": "Two"}]},
        type="Observation",
    )
    made, _ = make(second, first)
    found = [row for row in made["Observation"]["constraint"] if row["key"] == "ear-1"]
    assert [(row["human"], row["source"]) for row in found] == [("Two", OWN + "two")]


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ({"id": "Observation.status", "min": 0}, "less often"),
        ({"id": "Observation.subject", "max": "2"}, "more often (2) than by its base (1)"),
        ({"id": "Observation.subject", "max": "*"}, "more often"),
        ({"id": "Observation.category", "min": 3, "max": "2"}, "must be there more often (3) than it may be (2)"),
        ({"id": "Observation.subject", "type": [{"code": "string"}]}, "may not be of type string"),
        ({"id": "Observation.ear", "min": 1}, "Observation.ear is not there in the base"),
        ({"id": "Observation.valueHumanName", "min": 1}, "Observation.valueHumanName is not there in the base"),
        ({"id": "Observation.code.ear", "min": 1}, "Observation.code.ear is not there in the base"),
        ({"id": "Observation.status.value.more", "min": 1}, "Observation.status.value.more is not there in the base"),
        ({"id": "Observation.status", "binding": {"strength": "example"}}, "more loosely (example)"),
        ({"id": "Observation.category:ear", "min": 1}, "nothing says how it is told from others"),
        ({"id": "Observation.extension:ear", "sliceIsConstraining": True}, "a slice that its base does not have"),
        ({"id": "Observation.code", "type": [{"code": "CodeableConcept", "profile": [OWN + "none"]}]}, ""),
        ({"id": "Patient.name", "min": 1}, "The differential is of Patient, its base of Observation."),
        ({"min": 1}, "An element has neither path nor id."),
    ],
)
def test_more_than_the_base_allows_is_told(said: dict[str, Any], told: str) -> None:
    plain, _ = make(profile("nothing", "Observation"))
    made, problems = make(profile("odd", "Observation", said))
    assert [told in sentence for sentence in problems] == ([True] if told else [])
    assert made.keys() >= plain.keys()


def test_a_closed_set_of_slices_stays_closed() -> None:
    first = profile(
        "closed", "Patient", {"id": "Patient.identifier", "slicing": SLICED}, {"id": "Patient.identifier:number"}
    )
    second = profile("more", OWN + "closed", {"id": "Patient.identifier:other"}, type="Patient")
    _, problems = make(first)
    assert problems == []
    _, problems = make(second, first)
    assert problems == ["Patient.identifier:other is one slice more than its base allows."]


def test_an_element_said_twice_counts_once() -> None:
    said = {"id": "Observation.subject", "min": 1}
    made, problems = make(profile("twice", "Observation", said, {**said, "max": "0"}))
    assert problems == ["Observation.subject stands there twice."]
    assert (made["Observation.subject"]["min"], made["Observation.subject"]["max"]) == (1, "1")


def test_what_is_not_at_hand_is_told_once() -> None:
    made, problems = make(profile("lost", OWN + "nowhere", {"id": "Patient.name", "min": 1}, type="Patient"))
    assert (made, problems) == ({}, [f"The definition builds on {OWN}nowhere, which is not at hand."])
    typed = {"id": "Observation.code", "type": [{"code": "CodeableConcept", "profile": [OWN + "none"]}]}
    made, problems = make(profile("typed", "Observation", typed, {"id": "Observation.code.text", "min": 1}))
    assert problems == [f"Observation.code builds on {OWN}none, which is not at hand."]
    assert made["Observation.code.text"]["min"] == 1


def test_bases_in_a_circle_are_noticed() -> None:
    first = profile("first", OWN + "second", type="Patient")
    second = profile("second", OWN + "first", type="Patient")
    made, problems = make(first, first, second)
    assert made == {}
    assert problems == [f"{OWN}first builds on itself, or on too many others."]
