"""A terminology server in practice.yaml, through the command: what it decides, and what is told where it does not."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from bridge.cli import main
from tests.terminology.small import SETS, TOOLS
from tests.terminology.stub import Stub, serving

SET = f"{SETS}/tools"
PROFILE = {
    "resourceType": "StructureDefinition",
    "url": "https://example.org/fhir/StructureDefinition/tooled",
    "name": "Tooled",
    "status": "active",
    "kind": "resource",
    "abstract": False,
    "type": "Procedure",
    "baseDefinition": "http://hl7.org/fhir/StructureDefinition/Procedure",
    "derivation": "constraint",
    "differential": {
        "element": [
            {
                "id": "Procedure.usedCode",
                "path": "Procedure.usedCode",
                "binding": {"strength": "required", "valueSet": SET},
            }
        ]
    },
}


@pytest.fixture(autouse=True)
def _own_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("VISIT_BRIDGE_CACHE", str(tmp_path / "cache"))


@pytest.fixture
def stub() -> Iterator[Stub]:
    with serving() as one:
        yield one


@pytest.fixture
def practice(tmp_path: Path) -> Path:
    folder = tmp_path / "practice"
    folder.mkdir()
    (folder / "tooled.json").write_text(json.dumps(PROFILE), encoding="utf-8")
    return folder


def check(practice: Path, address: str, code: str) -> list[tuple[str, str]]:
    demo = Path(__file__).parents[2] / "mappings" / "demo" / "practice.yaml"
    server = f"terminology_server: {{address: {address}, seconds: 2}}\n" if address else ""
    settings = f"{demo.read_text(encoding='utf-8')}\npackages: [tooled.json]\n{server}"
    (practice / "practice.yaml").write_text(settings, encoding="utf-8")
    resource: dict[str, Any] = {
        "resourceType": "Procedure",
        "meta": {"profile": [PROFILE["url"]]},
        "status": "completed",
        "subject": {"display": "somebody"},
        "usedCode": [{"coding": [{"system": TOOLS, "code": code}]}],
    }
    file = practice / "procedure.json"
    file.write_text(json.dumps(resource), encoding="utf-8")
    done = CliRunner().invoke(main, ["check", str(file), "--practice", str(practice), "--json"])
    issues = json.loads(done.stdout)["issues"]
    return [(i["rule"], i["where"]["path"].rpartition("Procedure.")[2]) for i in issues if i["rule"][0] in "PT"]


def test_without_a_server_it_is_not_decided(practice: Path) -> None:
    assert check(practice, "", "loop") == [("P122", "usedCode[0]")]


def test_a_good_code_passes_and_an_unknown_one_does_not(practice: Path, stub: Stub) -> None:
    assert check(practice, stub.address, "loop") == []
    assert check(practice, stub.address, "laser") == [("P120", "usedCode[0]"), ("T207", "usedCode[0].coding[0]")]
    assert all("somebody" not in json.dumps(asked) for asked in stub.seen)


def test_a_code_out_of_use_is_told(practice: Path, stub: Stub) -> None:
    assert ("T205", "usedCode[0]") in check(practice, stub.address, "candle")


def test_a_server_that_is_not_there_is_told_once_and_nothing_passes_for_it(practice: Path) -> None:
    told = check(practice, "http://127.0.0.1:9/fhir", "loop")
    assert sorted(rule for rule, _ in told) == ["P122", "T201"]


def test_codes_are_looked_up_by_themselves(practice: Path, stub: Stub) -> None:
    check(practice, stub.address, "loop")
    assert {path for path, _, _ in stub.seen} == {"/fhir/ValueSet/$validate-code", "/fhir/CodeSystem/$lookup"}
