"""Snapshots made of published differentials are the published ones, element by element.

Oracles: the snapshots published with FHIR R4 4.0.1 and IPS 2.0.0, and those derived for UK Core by another tool.
"""

from __future__ import annotations

from collections import defaultdict

import pytest

from bridge.profiles.facts import facts
from bridge.profiles.snapshot import snapshot

from .known_differences import OTHERS, PROBLEMS, RESOURCES, TYPES, UK_CORE, Reasons
from .published import Json, definitions, differences, said_only, shelf

R4 = ("fhir-r4/profiles-types", "fhir-r4/profiles-resources")
MORE = ("fhir-r4/profiles-others", "fhir-r4/extension-definitions")


@pytest.mark.parametrize(
    ("name", "count", "known"),
    [
        ("ips", 32, {}),
        ("uk-core/uk-core-snapshots", 53, UK_CORE),
        ("fhir-r4/profiles-types", 63, TYPES),
        ("fhir-r4/profiles-resources", 149, RESOURCES),
        ("fhir-r4/profiles-others", 44, OTHERS),
        ("fhir-r4/extension-definitions", 393, {}),
    ],
)
def test_the_published_snapshot_comes_of_the_published_differential(name: str, count: int, known: Reasons) -> None:
    structures = {**shelf(*R4, *MORE), **shelf(name, snapshots=name == "ips")}
    if name in R4:
        structures = shelf(*R4)
    looked_at, elements, told = 0, 0, {}
    met: defaultdict[tuple[str, str], set[str]] = defaultdict(set)
    for definition in definitions(name):
        made, problems = snapshot(facts(said_only(definition)), lambda url: structures.get(url.partition("|")[0]))
        for what, id in differences(made, definition, strict=name == "ips"):
            met[definition["id"], what].add(id)
        if problems:
            told[definition["id"]] = problems
        looked_at, elements = looked_at + 1, elements + len(definition["snapshot"]["element"])
    assert dict(met) == {key: ids for key, (_, ids) in known.items()}
    assert looked_at == count
    assert elements > 4 * count
    assert {id: len(sentences) for id, sentences in told.items()} == (
        {id: len(names) for id, names in PROBLEMS.items()} if known is OTHERS else {}
    )
    for id, names in PROBLEMS.items() if known is OTHERS else ():
        for sentence in told[id]:
            assert any(name in sentence for name in names), sentence


def test_everything_of_ips_is_made_with_no_snapshot_at_hand_but_those_of_r4() -> None:
    """Bases and profiles of types are found as differentials too, in whatever order."""
    structures = {**shelf(*R4, *MORE), **shelf("ips", snapshots=False)}
    for definition in definitions("ips"):
        made, problems = snapshot(facts(said_only(definition)), lambda url: structures.get(url.partition("|")[0]))
        assert not problems
        assert list(differences(made, definition, strict=False)) == []


def test_r4_is_made_of_nothing_but_differentials() -> None:
    structures = shelf(*R4, snapshots=False)
    assert all("elements" not in structure for structure in structures.values())
    for url in ("Observation", "Patient", "Timing", "Questionnaire", "Extension", "Element"):
        structure = structures[f"http://hl7.org/fhir/StructureDefinition/{url}"]
        made, problems = snapshot(structure, structures.get)
        assert problems == []
        published = next(one for one in definitions(R4[0]) + definitions(R4[1]) if one["url"] == structure["url"])
        assert list(differences(made, published, strict=False)) == [], url


def test_what_is_made_changes_nothing_it_is_made_of() -> None:
    """Elements may be shared with the base, so that a later change to one of them would be a change to all."""
    import copy

    names = ("ips", *R4)
    before: dict[str, Json] = copy.deepcopy(shelf(*names))
    structures = copy.deepcopy(before)
    for definition in definitions("ips"):
        snapshot(facts(said_only(definition)), lambda url: structures.get(url.partition("|")[0]))
    assert structures == before
