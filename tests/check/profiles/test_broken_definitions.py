"""Definitions and data of the corpus with junk at a place drawn by lot: nothing is raised, whatever stands there.

`VISIT_BRIDGE_MANY=20` draws that many for each.
"""

from __future__ import annotations

import os
from random import Random
from typing import Any

import pytest

from bridge.check.profiles import Asked, check_profiles
from bridge.check.profiles.asked import asked_for
from tests.check.profiles.corpus import Json, cases, topics

MANY = int(os.environ.get("VISIT_BRIDGE_MANY", "1"))
JUNK: tuple[Any, ...] = (
    None, 5, -1, 1e300, True, "", "x", "*", "a|b|c", "((", "\ud800", [], {}, [None], [[]], [{}], {"x": {}}, ["x", 5],
    {"code": 5}, [{"code": None}], [{"path": {}}], "9" * 400, ".", "..", "Patient.", ":", "Patient:x", {"rules": []},
)  # fmt: skip


def spots(value: Any) -> list[tuple[Any, Any]]:
    """Every container with a key of it."""
    found: list[tuple[Any, Any]] = []
    waiting = [value]
    while waiting:
        one = waiting.pop()
        keys = list(one) if isinstance(one, dict) else range(len(one)) if isinstance(one, list) else ()
        found += [(one, key) for key in keys]
        waiting += [one[key] for key in keys]
    return found


def copied(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: copied(inner) for key, inner in value.items()}
    return [copied(inner) for inner in value] if isinstance(value, list) else value


def broken(definition: Json, random: Random) -> Json:
    made: Json = copied(definition)
    free = [spot for spot in spots(made) if spot[1] not in ("url", "resourceType")]
    holder, key = random.choice(free or [(made, "meta")])
    if free and random.random() < 0.2:
        del holder[key]
    else:
        holder[key] = random.choice(JUNK)
    return made


@pytest.mark.parametrize("topic", topics())
def test_junk_in_a_definition_raises_nothing(topic: str) -> None:
    all_cases, random = cases(topic), Random(topic)
    definitions = all_cases[0].definitions
    for number in range(len(definitions) * MANY):
        at = number % len(definitions)
        made = broken(definitions[at], random)
        library = asked_for([], [*definitions[:at], made, *definitions[at + 1 :]]).library
        url = definitions[at]["url"]
        held = [case for case in all_cases if case.profile == url][:3] or all_cases[:2]
        for case in held:
            issues = check_profiles(case.resource, case.resource["resourceType"], Asked(library, [case.profile or url]))
            assert len(issues) < 1000


@pytest.mark.parametrize("topic", topics())
def test_junk_in_data_raises_nothing(topic: str) -> None:
    random = Random(topic)
    library = asked_for([], cases(topic)[0].definitions).library
    once: dict[str, Asked] = {}
    for case in cases(topic) * MANY:
        if case.profile not in once:
            once[case.profile] = Asked(library, [case.profile] if case.profile else [])
        made = broken(case.resource, random)
        assert len(check_profiles(made, case.resource["resourceType"], once[case.profile])) < 1000
