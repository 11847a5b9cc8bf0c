"""`rules` lists the clinical rules; a practice's own ones and its changes stand in it and in `explain`."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from bridge.check.clinical import load_rules
from bridge.cli import main
from tests.check.clinical.refused import RULE, written

SHIPPED = load_rules()
WARNING = next(rule for rule in SHIPPED if rule.severity.name == "warning" and not rule.flag)
FLAG = next(rule for rule in SHIPPED if rule.urgency == "immediate")


def run(*args: object) -> str:
    result = CliRunner().invoke(main, [str(one) for one in args])
    assert result.exit_code == 0, result.output
    return result.output


@pytest.fixture
def practice(tmp_path: Path) -> Path:
    (tmp_path / "clinical").mkdir()
    (tmp_path / "practice.yaml").write_text("# enough to be found\n", encoding="utf-8")
    own = {key: value for key, value in RULE.items() if key not in ("if", "when", "message")}
    ask = {"asks": "whether the {ear} ear has a note", "recorded": ["ear.note"]}
    own |= {"code": "C901", "title": "A rule of ours", "if": [ask], "message": "Noted."}
    changes = [
        {"code": WARNING.code, "severity": "error", "reason": "It went wrong once."},
        {"code": FLAG.code, "switch": False, "reason": "The doctor looks herself."},
    ]
    text = written([own]) + written(changes).replace("rules:", "changes:", 1)
    (tmp_path / "clinical" / "ours.yaml").write_text(text, encoding="utf-8")
    return tmp_path


def test_every_rule_is_listed_within_80_columns() -> None:
    text = run("rules")
    lines = text.splitlines()
    assert [line.split()[0] for line in lines if line[:1] == "C" and line[1:4].isdigit()] == [r.code for r in SHIPPED]
    assert max(map(len, lines)) <= 80
    assert f"{len(SHIPPED)} rules: " in text
    assert "not the patient" in text


def test_json_has_the_same_rules() -> None:
    found: list[dict[str, Any]] = json.loads(run("rules", "--json"))
    assert [one["code"] for one in found] == [rule.code for rule in SHIPPED]
    assert all(one["status"] and one["source"] and one["reviewed"] for one in found)


@pytest.mark.parametrize("region", ["uk", "us", "international"])
def test_rules_of_a_region(region: str) -> None:
    found = json.loads(run("rules", "--json", "--region", region))
    assert [one["code"] for one in found] == [rule.code for rule in load_rules(region)]


def test_what_the_practice_changed_is_listed(practice: Path) -> None:
    found = {one["code"]: one for one in json.loads(run("rules", "--practice", practice, "--json"))}
    assert found["C901"]["title"] == "A rule of ours"
    assert found[WARNING.code]["changed"].startswith(f"Rule {WARNING.code} is raised to error by the practice")
    assert found[FLAG.code]["changed"].startswith(f"Rule {FLAG.code} is switched off by the practice")
    assert "2 changed by the practice." in " ".join(run("rules", "--practice", practice).split())


def test_explain_tells_the_change_and_knows_own_rules(practice: Path) -> None:
    told = " ".join(run("explain", FLAG.code, "--practice", practice).split())
    assert "is switched off by the practice: The doctor looks herself." in told
    assert f"Red flag {FLAG.flag}: to be seen at once" in told
    own = run("explain", "C901", "--practice", practice)
    assert "  - whether the right or left ear has a note" in own.splitlines()
    assert "Status: common practice of the trade." in own
    assert "C901" in run("explain", "--practice", practice)


def test_explain_of_a_clinical_rule_for_programs() -> None:
    found = json.loads(run("explain", FLAG.code, "--json"))
    assert (found["flag"], found["urgency"], found["status"]) == (FLAG.flag, "immediate", FLAG.status)
    assert found["asks"]
    assert found["changed"] == ""
    assert "not the patient" in found["caution"]


def test_own_files_with_faults_are_told_with_3(practice: Path) -> None:
    (practice / "clinical" / "ours.yaml").write_text("changes:\n  - {code: C999}\n", encoding="utf-8")
    result = CliRunner().invoke(main, ["rules", "--practice", str(practice)])
    assert result.exit_code == 3
    assert "ours.yaml, line 2: names no code of a shipped rule." in result.stderr
