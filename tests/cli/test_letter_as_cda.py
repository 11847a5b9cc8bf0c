"""`letter --as cda`: a document of which no CDA can be made is told, and the others go on."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from bridge.cli import main

ROOT = Path(__file__).parents[2]
BUNDLES = ROOT / "demo_bundles"


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("VISIT_BRIDGE_PRACTICE", str(ROOT / "mappings/demo"))
    return tmp_path


def a_sign_that_xml_does_not_allow(bundle: Any) -> None:
    observation = next(e["resource"] for e in bundle["entry"] if e["resource"]["resourceType"] == "Observation")
    observation["note"] = [{"text": "a\u0001b"}]


def no_id(bundle: Any) -> None:
    del next(e["resource"] for e in bundle["entry"] if e["resource"]["resourceType"] == "Observation")["id"]


@pytest.mark.parametrize(("spoil", "rule"), [(a_sign_that_xml_does_not_allow, "S153"), (no_id, "X124")])
def test_what_cda_cannot_hold_is_told_and_the_other_letters_are_made(spoil: Any, rule: str) -> None:
    bundle = json.loads((BUNDLES / "M26-0102.bundle.json").read_bytes())
    spoil(bundle)
    Path("a.json").write_text(json.dumps(bundle), encoding="utf-8")
    Path("b.json").write_bytes((BUNDLES / "M26-0101.bundle.json").read_bytes())
    done = CliRunner().invoke(main, ["letter", "a.json", "b.json", "--as", "html,cda", "--to", "out", "--json"])
    told = json.loads(done.stdout)
    assert done.exit_code == 1
    assert [(i["rule"], i["where"]["file"]) for i in told["issues"] if i["severity"] == "error"] == [(rule, "a.json")]
    made = {path.name for path in Path("out").iterdir()}
    assert made == {"M26-0101.html", "M26-0101.cda.xml", "M26-0102.html"}
