"""Published differentials, broken at random (with a seed): nothing is raised, and what is made hangs together."""

from __future__ import annotations

import copy
import random
from typing import Any

import pytest

from bridge.profiles.facts import facts
from bridge.profiles.snapshot import snapshot

from .published import Json, definitions, said_only, shelf

R4 = ("fhir-r4/profiles-types", "fhir-r4/profiles-resources", "fhir-r4/profiles-others")
JUNK: tuple[Any, ...] = (
    None,
    True,
    0,
    -1,
    1.5,
    "",
    "*",
    ".",
    "a.b:c/d",
    "x" * 3000,
    [],
    {},
    [None],
    {"code": 1},
    [{"code": "Quantity"}],
)


def broken(definition: Json, chance: random.Random) -> Json:
    """The definition with a few faults: elements lost, twice, elsewhere, with values of others or of no sense."""
    made = copy.deepcopy(said_only(definition))
    elements = made["differential"]["element"]
    for _ in range(chance.randint(1, 6)):
        kind, place = chance.randrange(6), chance.randrange(len(elements))
        one, other = elements[place], chance.choice(elements)
        if kind == 0 and len(elements) > 1:
            del elements[place]
        elif kind == 1:
            elements.insert(chance.randrange(len(elements)), copy.deepcopy(one))
        elif kind == 2:
            chance.shuffle(elements)
        elif kind == 3 and one:
            one[chance.choice(list(one))] = chance.choice(JUNK)
        elif kind == 4 and other:
            key = chance.choice(list(other))
            one[key] = other[key]
        elif one:
            del one[chance.choice(list(one))]
    if chance.random() < 0.1:
        made[chance.choice(list(made))] = chance.choice(JUNK)
    return made


@pytest.mark.parametrize("name", ["ips", "uk-core/uk-core-snapshots", "fhir-r4/profiles-others"])
def test_what_is_made_of_broken_definitions_hangs_together(name: str) -> None:
    structures = {**shelf(*R4), **shelf(name, snapshots=False)}
    chance = random.Random(name)
    made_of = changed = 0
    for _ in range(300):
        definition = chance.choice(definitions(name))
        mutant = facts(broken(definition, chance))
        elements, problems = snapshot(mutant, lambda url: structures.get(url.partition("|")[0]))
        ids = [element["id"] for element in elements]
        assert len(set(ids)) == len(ids), definition["id"]
        known: set[str] = set()
        for id in ids:
            above = id.rpartition(".")[0]
            assert not above or above in known, f"{definition['id']}: {id}"
            known.add(id)
        assert all(len(sentence) < 300 for sentence in problems)
        made_of += bool(elements)
        changed += bool(problems)
    assert made_of > 250
    assert changed > 50
