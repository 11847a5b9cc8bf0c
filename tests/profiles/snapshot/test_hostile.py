"""Definitions that nobody would write: nothing is raised, and what is made of them has an end. Work is counted."""

from __future__ import annotations

from typing import Any

import pytest

from bridge.profiles.facts import MOST_ELEMENTS, facts
from bridge.profiles.snapshot import snapshot
from bridge.profiles.snapshot.problems import MOST_NODES, MOST_PROBLEMS

from .making import CORE, OWN, make, profile

SLICED = {"discriminator": [{"type": "value", "path": "system"}], "rules": "open"}


@pytest.mark.parametrize(
    "definition",
    [
        {},
        {"differential": None},
        {"differential": {"element": "no list"}, "type": 1, "url": []},
        {"differential": {"element": [1, None, [], {}, {"id": 1, "path": 2}, {"path": ""}, {"path": "."}]}},
        {"snapshot": {"element": []}, "differential": {"element": [{"path": "Patient"}]}, "derivation": "constraint"},
        {
            "baseDefinition": CORE + "Patient",
            "derivation": "constraint",
            "differential": {"element": [{"path": "..."}]},
        },
        {
            "baseDefinition": CORE + "Patient",
            "derivation": "constraint",
            "differential": {
                "element": [
                    {"path": "Patient.name", "min": "1", "max": 1, "type": [1, {}, {"code": None}], "slicing": []},
                    {"path": "Patient.name", "sliceName": "", "binding": 5, "constraint": [{}, {"key": 1}]},
                    {"path": "Patient.name:a", "max": "-1"},
                    {"path": "Patient.name", "sliceName": "a.b", "max": "9" * 5000},
                    {"path": "Patient.name", "sliceName": "/", "min": -5},
                    {"id": "Patient.name:a.b.c", "path": "Patient.name.given"},
                ]
            },
        },
    ],
)
def test_odd_shapes_raise_nothing(definition: dict[str, Any]) -> None:
    made, problems = make(facts(definition))
    assert isinstance(problems, list)
    assert all(isinstance(element["id"], str) for element in made.values())


def test_depth_has_an_end() -> None:
    deep = "Questionnaire" + ".item" * 5000
    made, problems = make(profile("deep", "Questionnaire", {"path": deep, "min": 1}))
    assert len(problems) == 1
    assert "too deep" in problems[0]
    assert len(problems[0]) < 120
    within = "Questionnaire" + ".item" * 30
    made, problems = make(profile("less", "Questionnaire", {"id": within, "min": 1}))
    assert problems == []
    assert made[within]["min"] == 1


def test_slices_of_slices_have_an_end() -> None:
    """Each level would double what was there."""
    said = []
    at = "Patient.contact"
    for level in range(12):
        said.append({"id": at, "slicing": SLICED})
        said += [{"id": f"{at}:{name}"} for name in "abcdefgh"]
        said.append({"id": f"{at}.name.extension:x{level}"})
    names = [{"id": f"Patient.contact:a{number}.name.given", "min": 0} for number in range(MOST_NODES // 10)]
    made, problems = make(profile("many", "Patient", {"id": "Patient.contact", "slicing": SLICED}, *names))
    assert made == {}
    assert problems == [f"{OWN}many asks for more elements than are made of one definition."]
    made, problems = make(profile("doubled", "Patient", *said))
    assert len(made) < MOST_NODES
    assert any("twice" in sentence for sentence in problems)


def test_slices_of_a_slice_of_a_slice_have_an_end() -> None:
    names = ["/".join("a" * number) for number in range(1, 500)]
    said = [{"id": f"Patient.contact:{name}", "slicing": SLICED} for name in names]
    made, problems = make(profile("resliced", "Patient", {"id": "Patient.contact", "slicing": SLICED}, *said))
    assert len(problems) == 1
    assert "too deep" in problems[0]
    assert f"Patient.contact:{names[30]}" in made
    assert f"Patient.contact:{names[50]}" not in made


def test_not_everything_is_told_of_what_is_all_wrong() -> None:
    said = [{"id": f"Patient.wrong{number}"} for number in range(500)]
    _, problems = make(profile("wrong", "Patient", *said))
    assert len(problems) == MOST_PROBLEMS


def test_a_chain_of_bases_has_an_end() -> None:
    chain = [profile(f"p{number}", f"{OWN}p{number + 1}", type="Patient") for number in range(200)]
    made, problems = make(chain[0], *chain[1:])
    assert made == {}
    assert problems


def test_many_elements_are_looked_up_once_each() -> None:
    """A type that is unfolded ten thousand times is asked for once."""
    asked: list[str] = []
    name = "HumanName"
    count = 10_000
    parts = [{"id": f"Thing.n{n}", "path": f"Thing.n{n}", "type": [{"code": name}]} for n in range(count)]
    of_name = [{"id": name, "path": name}, {"id": f"{name}.text", "path": f"{name}.text", "min": 0}]
    at_hand: dict[str, dict[str, Any]] = {
        CORE + name: {"url": CORE + name, "type": name, "elements": of_name},
        OWN + "thing": {"url": OWN + "thing", "elements": [{"id": "Thing", "path": "Thing"}, *parts]},
    }

    def find(url: str) -> dict[str, Any] | None:
        asked.append(url)
        return at_hand.get(url)

    said = [{"id": f"Thing.n{n}.text", "path": f"Thing.n{n}.text", "min": 1} for n in range(count)]
    structure = {
        "url": OWN + "t",
        "type": "Thing",
        "base": OWN + "thing",
        "derivation": "constraint",
        "differential": said,
    }
    made, problems = snapshot(structure, find)
    assert problems == []
    assert len(made) == 2 * count + 1
    assert asked == [OWN + "thing", CORE + name]


def test_elements_beyond_the_limit_are_left_out() -> None:
    definition = {"differential": {"element": [{"path": "Patient.name"}] * (MOST_ELEMENTS + 10)}}
    assert len(facts(definition)["differential"]) == MOST_ELEMENTS
