"""Definitions of several packages and those shipped, as one library."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from bridge.profiles import making
from bridge.profiles.library import Library, open_library
from tests.profiles.packages import CORE, HERE, least, package, profile

IPS = "http://hl7.org/fhir/uv/ips/StructureDefinition/"
UK = "https://fhir.hl7.org.uk/StructureDefinition/"


@pytest.fixture(autouse=True)
def _own_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("VISIT_BRIDGE_CACHE", str(tmp_path / "cache"))


def codes(library: Library) -> list[str]:
    return [issue.rule for issue in library.issues]


def element(name: str, **more: Any) -> dict[str, Any]:
    return {"id": f"Patient.{name}", "path": f"Patient.{name}", **more}


def test_what_is_shipped() -> None:
    library = open_library()
    assert library.issues == []
    patient = library.structure(f"{CORE}Patient")
    assert patient is not None
    assert patient["elements"][0]["path"] == "Patient"
    assert library.profile(f"{CORE}Patient") is not None
    assert least(library.profile(f"{IPS}Patient-uv-ips"), "birthDate") == 1
    uk_core = library.profile(f"{UK}UKCore-Patient")
    assert uk_core is not None
    assert any("slices" in part for part in uk_core["root"]["parts"])
    marital = library.value_set("http://hl7.org/fhir/ValueSet/marital-status|4.0.1")
    assert marital is not None
    genders = library.code_system("http://hl7.org/fhir/administrative-gender")
    assert genders is not None
    assert set(genders["codes"]) == {"male", "female", "other", "unknown"}
    assert library.code_system("https://fhir.hl7.org.uk/CodeSystem/UKCore-EthnicCategoryEngland") is not None
    assert library.profile(f"{IPS}nothing") is None
    assert f"{CORE}individual-genderIdentity" in library.missing
    assert not [url for url in library.missing if url.startswith(UK)]


def test_a_package_is_added_in_any_order_of_its_definitions(tmp_path: Path) -> None:
    """`c` is built on `b`, and that on `a`: each is given before its base, and none has a snapshot."""
    chain = [
        profile("c", f"{HERE}b", element("gender", min=1)),
        profile("b", f"{HERE}a", element("name", min=1)),
        profile("a"),
    ]
    library = open_library([package(tmp_path / "p.tgz", *chain)])
    assert library.issues == []
    c = library.profile(f"{HERE}c")
    assert [least(c, name) for name in ("gender", "name", "birthDate", "contact")] == [1, 1, 1, None]
    structure = library.structure(f"{HERE}c|1.0.0")
    assert structure is not None
    assert "differential" not in structure
    assert len(structure["elements"]) > 20


def test_packages_build_on_each_other_in_any_order(tmp_path: Path) -> None:
    first = package(tmp_path / "1.tgz", profile("b", f"{HERE}a", element("name", min=1)), profile("d"), name="one")
    second = package(tmp_path / "2.tgz", profile("a"), profile("c", f"{HERE}b"), profile("e", f"{HERE}d"), name="two")
    for paths in ([first, second], [second, first], [first, second, first]):
        library = open_library(paths)
        assert library.issues == []
        assert least(library.profile(f"{HERE}b"), "birthDate") == 1
        assert least(library.profile(f"{HERE}c"), "name") == 1
        assert least(library.profile(f"{HERE}e"), "birthDate") == 1


def test_what_was_made_alone_is_made_anew_beside_its_base(tmp_path: Path) -> None:
    first = package(tmp_path / "1.tgz", profile("b", f"{HERE}a", element("name", min=1)), name="one")
    second = package(tmp_path / "2.tgz", profile("a"), name="two")
    for _ in range(2):
        alone = open_library([first])
        assert codes(alone) == ["P155"]
        assert least(open_library([first, second]).profile(f"{HERE}b"), "birthDate") == 1


def test_definitions_in_a_circle_end(tmp_path: Path) -> None:
    circle = [profile("a", f"{HERE}b"), profile("b", f"{HERE}a"), profile("c", f"{HERE}c"), profile("fine")]
    library = open_library([package(tmp_path / "p.tgz", *circle)])
    assert least(library.profile(f"{HERE}fine"), "birthDate") == 1
    told = library.profile(f"{HERE}a")
    assert told is not None
    assert any("builds on itself" in problem for problem in told["problems"])


def test_a_long_chain_ends(tmp_path: Path) -> None:
    chain = [profile(str(n), f"{HERE}{n + 1}") for n in range(300)]
    library = open_library([package(tmp_path / "p.tgz", *chain)])
    assert codes(library) == ["P155"]
    assert library.profile(f"{HERE}0") is not None


def test_versions(tmp_path: Path) -> None:
    one, two = profile("a", version="1.9.0"), profile("a", f"{CORE}Patient", element("gender", min=1), version="1.10.0")
    draft = profile("a", f"{CORE}Patient", element("name", min=1), version="2.0.0", status="draft")
    library = open_library([package(tmp_path / "p.tgz", one, two, draft)])
    assert library.issues == []
    for version, name in (("", "gender"), ("|1.9.0", "birthDate"), ("|2.0.0", "name"), ("|3.0.0", "gender")):
        assert least(library.profile(f"{HERE}a{version}"), name) == 1, version
    assert library.version_note(f"{HERE}a") == ""
    assert library.version_note(f"{HERE}a|1.9.0") == ""
    note = library.version_note(f"{HERE}a|3.0.0")
    assert "3.0.0" in note
    assert "1.10.0" in note
    assert library.version_note(f"{HERE}nothing|1") == ""


def test_what_a_person_names_comes_first(tmp_path: Path) -> None:
    path = package(
        tmp_path / "p.tgz", profile("a"), profile("Patient-uv-ips", url=f"{IPS}Patient-uv-ips", version="0.1")
    )
    own = profile("a", f"{CORE}Patient", element("gender", min=1), version="0.1.0", status="draft")
    library = open_library([path], [own])
    assert least(library.profile(f"{HERE}a"), "gender") == 1
    assert least(library.profile(f"{HERE}a|1.0.0"), "birthDate") == 1
    ips = library.profile(f"{IPS}Patient-uv-ips")
    assert ips is not None
    assert ips["version"] == "0.1"
    shipped = library.profile(f"{IPS}Patient-uv-ips|2.0.0")
    assert shipped is not None
    assert shipped["version"] == "2.0.0"


def test_own_definitions_build_on_packages_and_on_each_other(tmp_path: Path) -> None:
    own = {"resourceType": "Bundle", "entry": [{"resource": profile("b", f"{HERE}a", element("name", min=1))}]}
    library = open_library([package(tmp_path / "p.tgz", profile("a"))], [profile("c", f"{HERE}b"), own])
    assert library.issues == []
    assert [least(library.profile(f"{HERE}c"), name) for name in ("birthDate", "name")] == [1, 1]


def test_the_types_of_the_standard_stay_what_they_are(tmp_path: Path) -> None:
    false = profile("Patient", url=f"{CORE}Patient", derivation="specialization")
    path = package(tmp_path / "p.tgz", false, profile("a"))
    library = open_library([path], [false])
    patient = library.structure(f"{CORE}Patient")
    assert patient is not None
    assert len(patient["elements"]) > 20
    assert least(library.profile(f"{CORE}Patient"), "birthDate") is None


def test_packages_and_bases_that_are_needed_are_named(tmp_path: Path) -> None:
    needed = {
        "hl7.fhir.r4.core": "4.0.1",
        "hl7.fhir.uv.ips": "1.1.0",
        "example.base": "2.0.0",
        "example.open": "1.0.x",
        "example.current": "current",
    }
    bound = {"strength": "required", "valueSet": f"{HERE}vs"}
    path = package(
        tmp_path / "p.tgz",
        profile("a", "http://example.org/elsewhere", element("birthDate", min=1)),
        profile("b", f"{CORE}Patient", element("maritalStatus", binding=bound)),
        dependencies=needed,
    )
    others = [package(tmp_path / f"{name}.tgz", profile(name), name=f"example.{name}") for name in ("open", "current")]
    library = open_library([path, *others])
    assert [(issue.rule, issue.message) for issue in library.issues] == [
        ("P158", "example.hearing 1.0.0 needs hl7.fhir.uv.ips 1.1.0; at hand is 2.0.0."),
        ("P154", "example.hearing 1.0.0 needs example.base 2.0.0, which is not at hand."),
        ("P155", "a is built on http://example.org/elsewhere, which is not at hand."),
    ]
    assert f"{HERE}vs" in library.missing


def test_flaws_of_definitions_are_told_and_the_rest_is_used(tmp_path: Path) -> None:
    path = package(
        tmp_path / "p.tgz",
        profile("a"),
        profile("a", f"{CORE}Patient", element("gender", min=1)),
        profile("b", url=None),
        profile("c", fhirVersion="5.0.0"),
        {"resourceType": "ValueSet", "url": 7},
    )
    for _ in range(2):  # made, and from the cache
        library = open_library([path])
        found = sorted((issue.rule, issue.where.file) for issue in library.issues)
        assert found == [
            ("P152", "p.tgz/package/1.json"),
            ("P153", "p.tgz"),
            ("P159", "p.tgz/package/2.json"),
            ("P159", "p.tgz/package/4.json"),
        ]
        assert least(library.profile(f"{HERE}a"), "birthDate") == 1


@pytest.mark.parametrize(
    "definition",
    [
        {},
        {"resourceType": "StructureDefinition"},
        {"resourceType": ["StructureDefinition"], "url": HERE},
        profile("x", differential=[7, None, {"element": 3}]),
        profile("x", differential={"element": [7, None, {}, {"id": 7, "path": []}, {"id": ".:/[x]", "path": "."}]}),
        profile("x", baseDefinition={"a": 1}, type=7, name=[], version={}, status=[]),
        profile("x", url="http://x\ud800"),
        profile("x", name="\ud800", status="\ud800", baseDefinition="\ud800"),
        profile("x", f"{CORE}Patient", element("birthDate", fixedDate=float("nan"), patternDate={1, 2})),
        profile("x", context=7, snapshot={"element": [{"id": "Patient", "path": "Patient", "type": "Patient"}]}),
        {"resourceType": "ValueSet", "url": HERE, "compose": {"include": [7, {"system": 7, "concept": [[]]}]}},
        {"resourceType": "CodeSystem", "url": HERE, "concept": [7, {"code": {}}], "content": 7},
        {"resourceType": "Bundle", "entry": [{"resource": {"resourceType": "Bundle", "entry": 7}}]},
    ],
)
def test_hostile_definitions_never_raise(definition: dict[str, Any]) -> None:
    library = open_library((), [definition, profile("fine")])
    assert least(library.profile(f"{HERE}fine"), "birthDate") == 1
    for url in (HERE, f"{HERE}x", "http://x\ud800"):
        library.profile(url), library.value_set(url), library.code_system(url), library.version_note(f"{url}|x")
    assert isinstance(library.missing, list)


@pytest.mark.parametrize(
    ("limit", "told"), [("MOST_STRUCTURES", "definitions of one kind"), ("MOST_ELEMENTS", "elements")]
)
def test_definitions_and_their_snapshots_are_bounded(monkeypatch: pytest.MonkeyPatch, limit: str, told: str) -> None:
    definitions = [profile(str(number)) for number in range(50)]
    assert open_library((), definitions).issues == []
    monkeypatch.setattr(making, limit, 10)
    library = open_library((), definitions)
    assert set(codes(library)) == {"P156"}
    assert told in library.issues[0].message
    assert least(library.profile(f"{HERE}0"), "birthDate") == 1


def test_the_folder_where_one_is_has_its_own_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "ears"
    folder.mkdir()
    monkeypatch.chdir(folder)
    assert [i.message.partition(" ")[0] for i in open_library([Path(".")]).issues] == ["ears"]


def test_what_is_known_already_is_told() -> None:
    core = profile("Patient", url=f"{CORE}Patient", derivation="specialization")
    uk = profile("UKCore-Patient", url=f"{UK}UKCore-Patient")
    told = [i.message for i in open_library([], [core, uk, profile("own")]).issues if i.rule == "P160"]
    assert [("R4’s own" in t, "in its place" in t) for t in told] == [(True, False), (False, True)]
    assert all("and 1 more" not in t for t in told)
    assert not [i for i in open_library([], [profile("own")]).issues if i.rule == "P160"]
