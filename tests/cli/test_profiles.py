"""`visit-bridge check` with profiles: named by address or file, from packages, told as a tree."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from bridge.cli import main

ROOT = Path(__file__).parents[2]
IPS = "http://hl7.org/fhir/uv/ips/StructureDefinition/"
OURS = "https://example.org/fhir/StructureDefinition/"
PATIENT = {"resourceType": "Patient", "id": "a", "gender": "female", "identifier": [{"value": "1"}]}
PROFILE = {
    "resourceType": "StructureDefinition",
    "url": f"{OURS}named",
    "version": "1.2.0",
    "name": "NamedPatient",
    "status": "active",
    "kind": "resource",
    "abstract": False,
    "type": "Patient",
    "baseDefinition": f"{OURS}base",
    "derivation": "constraint",
    "differential": {"element": [{"id": "Patient.name", "path": "Patient.name", "min": 1}]},
}
BASE = {
    **PROFILE,
    "url": f"{OURS}base",
    "name": "BasePatient",
    "baseDefinition": "http://hl7.org/fhir/StructureDefinition/Patient",
    "differential": {
        "element": [{"id": "Patient.birthDate", "path": "Patient.birthDate", "min": 1, "mustSupport": True}]
    },
}


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "a patient é.json"
    path.write_text(json.dumps(PATIENT), encoding="utf-8")
    return path


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    folder = tmp_path / "definitions"
    folder.mkdir()
    for definition in (PROFILE, BASE):
        (folder / f"{definition['name']}.json").write_text(json.dumps(definition), encoding="utf-8")
    return folder


def check(*given: object) -> tuple[int, dict[str, Any]]:
    done = CliRunner().invoke(main, ["check", *map(str, given), "--json"])
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
    return done.exit_code, json.loads(done.stdout)


def told(report: dict[str, Any], family: str = "P") -> list[tuple[str, str]]:
    return [(i["rule"], i["where"]["path"]) for i in report["issues"] if i["rule"].startswith(family)]


def test_a_shipped_profile_by_its_address(file: Path) -> None:
    code, report = check(file, "--profile", f"{IPS}Patient-uv-ips")
    assert code == 1
    assert told(report) == [("P101", "Patient"), ("P101", "Patient")]
    assert {i["where"]["row"] for i in report["issues"] if i["rule"] == "P101"} == {1}


def test_a_profile_of_a_folder_follows_its_base(file: Path, folder: Path) -> None:
    code, report = check(file, "--package", folder, "--profile", f"{OURS}named|1.2.0")
    assert code == 1
    messages = [i["message"] for i in report["issues"] if i["rule"] == "P101"]
    assert [("Patient.name" in m, "Patient.birthDate" in m) for m in messages] == [(True, False), (False, True)]


def test_a_file_with_a_profile_can_be_named_itself(file: Path, folder: Path) -> None:
    code, report = check(file, "--package", folder, "--profile", folder / "NamedPatient.json")
    assert (code, told(report)) == (1, [("P101", "Patient"), ("P101", "Patient")])
    code, report = check(file, "--profile", folder / "NamedPatient.json")
    assert "P155" in {rule for rule, _ in told(report)}, "its base is not at hand, and that is told"


def test_another_version_than_the_one_named_is_told(file: Path, folder: Path) -> None:
    _, report = check(file, "--package", folder, "--profile", f"{OURS}named|9.9.9")
    assert ("P147", "Patient") in told(report)


def test_a_profile_that_nobody_has_is_an_error_and_a_claim_a_warning(file: Path) -> None:
    code, report = check(file, "--profile", f"{OURS}nowhere")
    assert (code, told(report)) == (1, [("P146", "Patient")])
    file.write_text(json.dumps({**PATIENT, "meta": {"profile": [f"{OURS}nowhere"]}}), encoding="utf-8")
    code, report = check(file)
    assert (code, told(report)) == (0, [("P141", "Patient.meta.profile[0]")])


def test_a_claim_is_honoured_from_a_package_and_from_the_practice(file: Path, folder: Path, tmp_path: Path) -> None:
    file.write_text(json.dumps({**PATIENT, "meta": {"profile": [f"{OURS}named"]}}), encoding="utf-8")
    assert check(file, "--package", folder)[0] == 1
    practice = tmp_path / "practice"
    practice.mkdir()
    settings = (ROOT / "mappings" / "demo" / "practice.yaml").read_text(encoding="utf-8")
    (practice / "practice.yaml").write_text(f"{settings}\npackages: [../definitions]\n", encoding="utf-8")
    assert check(file, "--practice", practice)[0] == 1
    (practice / "practice.yaml").write_text(settings, encoding="utf-8")
    assert check(file, "--practice", practice)[0] == 0


def test_settings_that_only_show_how_packages_are_named_are_left_alone(file: Path, tmp_path: Path) -> None:
    for packages, rules in (("# packages: [a.tgz]", set()), ("packages: [a.tgz]", {"R303", "R311"})):
        (tmp_path / "practice.yaml").write_text(f"{packages}\nregion: uk\n", encoding="utf-8")
        _, report = check(file, "--practice", tmp_path)
        assert {rule for rule, _ in told(report, "R")} == rules


def test_a_package_of_the_practice_that_is_missing_is_told_with_records_too(file: Path, tmp_path: Path) -> None:
    practice = tmp_path / "practice"
    practice.mkdir()
    settings = (ROOT / "mappings" / "demo" / "practice.yaml").read_text(encoding="utf-8")
    (practice / "practice.yaml").write_text(f"{settings}\npackages: [nothere.tgz]\n", encoding="utf-8")
    visits = ROOT / "mappings" / "demo" / "visits-2026.csv"
    for sources in ([visits], [file, visits]):
        code, report = check(*sources, "--practice", practice)
        assert code == 1
        assert [i["message"].partition(" ")[0] for i in report["issues"] if i["rule"] == "P150"] == ["nothere.tgz"]


def test_what_is_no_profile_is_refused(file: Path) -> None:
    done = CliRunner().invoke(main, ["check", str(file), "--profile", str(file)])
    assert done.exit_code == 3
    assert "holds no StructureDefinition" in done.stderr


def test_a_name_that_is_neither_address_nor_file_is_told_as_such(file: Path) -> None:
    done = CliRunner().invoke(main, ["check", str(file), "--profile", "Bundle-uv-ips"])
    assert done.exit_code == 3
    assert "no file Bundle-uv-ips" in done.stderr
    assert "whole address" in done.stderr
    assert f"Near: {IPS}Bundle-uv-ips" in done.stderr


def test_the_nearest_address_is_told_where_one_is_misspelt(file: Path) -> None:
    for wrong in (f"{IPS}patient-uv-ips", f"{IPS.replace('http:', 'https:')}Patient-uv-ips"):
        _, report = check(file, "--profile", wrong)
        assert [i["message"].rpartition(" ")[2] for i in report["issues"] if i["rule"] == "P146"] == [
            f"{IPS}Patient-uv-ips"
        ]
    _, report = check(file, "--profile", "urn:nothing:like:it")
    assert [i["message"].endswith("urn:nothing:like:it.") for i in report["issues"] if i["rule"] == "P146"] == [True]


@pytest.mark.parametrize("option", [["--profile", f"{IPS}Patient-uv-ips"], ["--must-support"], ["--explain-profile"]])
def test_what_is_asked_of_documents_is_not_passed_over_where_there_are_records_alone(option: list[str]) -> None:
    visits, practice = ROOT / "mappings/demo/visits-2026.csv", ROOT / "mappings/demo"
    done = CliRunner().invoke(main, ["check", str(visits), "--practice", str(practice), *option])
    assert done.exit_code == 2
    assert "about FHIR documents" in done.stderr


def test_the_tree_is_there_beside_records_too(file: Path) -> None:
    visits, practice = str(ROOT / "mappings/demo/visits-2026.csv"), str(ROOT / "mappings/demo")
    _, report = check(file, visits, "--practice", practice, "--profile", f"{IPS}Patient-uv-ips", "--explain-profile")
    assert report["explained"][0]["path"] == "Patient"


def test_must_support_elements_that_are_not_there_are_told_when_asked(file: Path, folder: Path) -> None:
    ips = ("--profile", f"{IPS}Patient-uv-ips")
    _, quiet = check(file, *ips)
    _, full = check(file, *ips, "--must-support")
    assert "P140" not in dict(told(quiet))
    missing = [i["message"] for i in full["issues"] if i["rule"] == "P140"]
    assert any("Patient.telecom" in message for message in missing)
    assert not any("Patient.gender" in message for message in missing), "that one is there"


def test_the_tree_shows_profile_and_slice(folder: Path) -> None:
    bundle = ROOT / "demo_bundles" / "M26-0101.bundle.json"
    done = CliRunner().invoke(main, ["check", str(bundle), "--explain-profile"])
    lines = done.stdout.splitlines()
    assert max(map(len, lines)) <= 80
    patient = next(n for n, line in enumerate(lines) if line.endswith("UKCorePatient"))
    assert "(Patient)" in lines[patient]
    assert any("slice nhsNumber" in line for line in lines[patient:])
    assert any(line.endswith("FHIR R4 only") for line in lines[patient:])


def test_the_tree_tells_what_does_not_hold_apart_from_what_was_not_decided(file: Path, tmp_path: Path) -> None:
    bound = {"strength": "required", "valueSet": "https://example.org/fhir/ValueSet/nowhere"}
    elements = [
        {"id": "Patient.photo", "path": "Patient.photo", "min": 1},
        {"id": "Patient.gender", "path": "Patient.gender", "binding": bound},
    ]
    core = "http://hl7.org/fhir/StructureDefinition/Patient"
    profile = tmp_path / "profile.json"
    profile.write_text(json.dumps({**PROFILE, "baseDefinition": core, "differential": {"element": elements}}))
    done = CliRunner().invoke(main, ["check", str(file), "--profile", str(profile), "--explain-profile"])
    lines = [line.split() for line in done.stdout.splitlines()]
    assert ["does", "not", "hold:", "P101"] in lines
    assert ["noted:", "P122"] in lines


def test_the_tree_is_data_for_programs(file: Path, folder: Path) -> None:
    _, report = check(file, "--package", folder, "--profile", f"{OURS}named", "--explain-profile")
    top = report["explained"][0]
    assert (top["path"], top["type"], top["rules"]) == ("Patient", "Patient", ["P101"])
    assert top["held"] == [{"profile": "NamedPatient", "element": "Patient", "slice": ""}]
    assert {one["path"] for one in report["explained"]} == {
        "Patient", "Patient.id", "Patient.gender", "Patient.identifier[0]"
    }  # fmt: skip


def test_each_line_of_ndjson_has_its_own_tree(file: Path, tmp_path: Path) -> None:
    lines = tmp_path / "two.ndjson"
    lines.write_text(f"{json.dumps(PATIENT)}\n\n{json.dumps({**PATIENT, 'id': 'b'})}\n", encoding="utf-8")
    ips = ["--profile", f"{IPS}Patient-uv-ips", "--explain-profile"]
    _, report = check(lines, *ips)
    tops = [one for one in report["explained"] if one["path"] == "Patient"]
    assert [(one["row"], one["rules"]) for one in tops] == [(1, ["P101"]), (3, ["P101"])]
    assert not any("Bundle" in one["path"] for one in report["explained"])
    tree = CliRunner().invoke(main, ["check", str(lines), *ips]).stdout
    assert "line 1: Patient" in tree
    assert "line 3: Patient" in tree


def test_without_profiles_nothing_of_them_is_told(file: Path) -> None:
    code, report = check(file)
    assert (code, told(report)) == (0, [])
    assert "explained" not in report
