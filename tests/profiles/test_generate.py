"""The shelves that are shipped are what the program makes of the published definitions, and hold all of them.

Oracles: the published bundles of FHIR R4, the files of IPS and of UK Core, and the expansions published with R4.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from bridge.data import table_path
from bridge.errors import InputError
from bridge.profiles.generate import generate
from bridge.profiles.library import open_library
from bridge.profiles.shelf import KINDS, Shelf
from bridge.profiles.shipped import FILES, shipped
from bridge.terminology.members import Terminology
from tests.standards import standard_json, standards_file

NOT_ALL = ("valueset-toocostly", "valueset-unclosed")
OPEN_ENDED = {
    "appointment-cancellation-reason", "consent-content-class", "currencies", "formatcodes", "insuranceplan-type",
    "program", "service-category", "service-type", "task-code", "vaccine-code",
}  # fmt: skip
"""Sets of systems that are kept elsewhere and grow; their published expansions say who is in, not who is out."""


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    standards = standards_file("fhir-r4").parent
    folder = tmp_path_factory.mktemp("made")
    generate(standards, folder)
    return folder


def test_the_same_definitions_give_the_same_shelves(made: Path) -> None:
    assert sorted(path.name for path in made.iterdir()) == sorted(FILES)
    for name in FILES:
        ours, again = Shelf(table_path("profiles", name)), Shelf(made / name)
        assert (again.about, list(again.rows())) == (ours.about, list(ours.rows())), (
            f"{name} is not what the program makes"
        )


def test_the_shelves_are_small() -> None:
    assert sum(table_path("profiles", name).stat().st_size for name in FILES) < 3_000_000


def test_every_published_definition_is_there() -> None:
    library = open_library()
    ask = {
        "StructureDefinition": library.structure,
        "ValueSet": library.value_set,
        "CodeSystem": library.code_system,
    }
    names = ("profiles-resources", "profiles-types", "profiles-others", "extension-definitions")
    files = [*names, "valuesets", "v3-codesystems", "v2-tables"]
    published = [row["resource"] for name in files for row in standard_json(f"fhir-r4/{name}.json.gz")["entry"]]
    published += [standard_json(f"ips/{path.name}") for path in standards_file("ips").glob("*.json")]
    for name in ("uk-core-terminology.json", "uk-core-snapshots.json.gz"):
        published += [row["resource"] for row in standard_json(f"uk-core/{name}")["entry"]]
    count = 0
    for one in published:
        if one["resourceType"] in ask:
            url = f"{one['url']}|{one['version']}" if "version" in one and "|" not in one["url"] else one["url"]
            found = ask[one["resourceType"]](url)
            assert found is not None, url
            assert library.version_note(url) == "", url
            if one["resourceType"] == "StructureDefinition" and "snapshot" in one:
                assert [row["id"] for row in found["elements"]] == [row["id"] for row in one["snapshot"]["element"]], (
                    url
                )
            count += 1
    assert count > 3_000


def test_every_profile_shipped_is_whole() -> None:
    library = open_library()
    flawed = set()
    for shelf in shipped():
        for url in shelf.urls("profiles"):
            profile = library.profile(url)
            assert profile is not None
            if "problems" in profile:
                flawed.add(url.rpartition("/")[2])
    assert flawed == set()
    assert sum(len(list(shelf.urls("profiles"))) for shelf in shipped()) > 500


def test_members_of_value_sets_are_those_published() -> None:
    """Nearly every set with a whole expansion is decided by what is shipped: its members are in, and nobody else is."""
    library = open_library()
    terminology = Terminology(library.value_set, library.code_system)
    asked, undecided = 0, set()
    for row in standard_json("fhir-r4/valueset-expansions.json.gz")["entry"]:
        one = row["resource"]
        expansion = one.get("expansion", {})
        whole = not any(ext["url"].endswith(NOT_ALL) for ext in expansion.get("extension", ()))
        members = [m for m in expansion.get("contains", ()) if "system" in m and not m.get("abstract")]
        if not whole or not members or library.value_set(one["url"]) is None:
            continue
        for member in members[-3:]:
            assert terminology.member(one["url"], member["system"], member["code"]).verdict == "in", one["url"]
        verdict = terminology.member(one["url"], members[0]["system"], "no-such-code").verdict
        assert verdict != "in", one["url"]
        if verdict == "unknown":
            undecided.add(one["url"].rpartition("/")[2])
        asked += 1
    assert asked == 515
    assert undecided == OPEN_ENDED


def test_each_file_says_where_it_is_from() -> None:
    for name, shelf in zip(FILES, shipped(), strict=True):
        assert all(shelf.about[key] for key in ("origin", "edition", "licence", "made_by")), name
        assert any(True for kind in KINDS for _ in shelf.urls(kind)), name


def test_definitions_that_are_not_there_are_named(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="profiles-types"):
        generate(tmp_path, tmp_path / "made")
    (tmp_path / "fhir-r4").mkdir()
    (tmp_path / "fhir-r4" / "profiles-types.json").write_text(json.dumps({"entry": []}), encoding="utf-8")
    with pytest.raises(InputError, match="profiles-resources"):
        generate(tmp_path, tmp_path / "made")
