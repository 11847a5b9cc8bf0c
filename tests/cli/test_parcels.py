"""`convert --as` for the practice's own systems, and `check` of what it wrote."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from bridge.cli import main

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "mappings/demo"


def run(*args: str) -> tuple[int, str]:
    result = CliRunner().invoke(main, list(args))
    return result.exit_code, result.output


@pytest.mark.parametrize(("kind", "name"), [("collection", ".collection.bundle.json"), ("ndjson", ".ndjson")])
def test_what_is_written_is_found_whole_by_check(tmp_path: Path, kind: str, name: str) -> None:
    source = str(DEMO / "visits/M26-0110.yaml")
    code, said = run("convert", source, "--as", kind, "--to", str(tmp_path), "--practice", str(DEMO))
    assert code == 0, said
    assert [p.name for p in tmp_path.iterdir()] == [f"M26-0110{name}"]
    code, said = run("check", str(tmp_path / f"M26-0110{name}"))
    assert code == 0, said


def test_no_consent_to_share_is_asked_for_what_stays_in_the_house(tmp_path: Path) -> None:
    written = {}
    for kind in ("document", "transaction", "collection", "ndjson"):
        folder = tmp_path / kind
        run("convert", str(DEMO / "visits-2026.csv"), "--as", kind, "--to", str(folder), "--practice", str(DEMO))
        written[kind] = {p.name.partition(".")[0] for p in folder.glob("*")}
    assert written["document"] < written["transaction"] == written["collection"] == written["ndjson"]


def test_a_broken_line_is_told_by_its_number(tmp_path: Path) -> None:
    file = tmp_path / "in.ndjson"
    file.write_text('{"resourceType": "Patient", "id": "a", "active": true}\n{"resourceType": \n')
    code, said = run("check", str(file), "--report", "json")
    assert code == 1
    found = {i["rule"]: i["where"]["row"] for i in json.loads(said)["issues"]}
    assert found == {"S122": 2, "V123": 1}, "the line before it is checked all the same"
