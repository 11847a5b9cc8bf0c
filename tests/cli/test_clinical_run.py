"""A run over records: visits are held against each other, and what the practice changed is told once."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from bridge.cli import main
from bridge.data import table_path

VISIT = """\
number: {number}
client: {{number: C7, legal_name: {{family: Rowe, given: [Ida]}}, birth_date: 1950-02-03}}
start: {start}
left: {{history: [{history}], before: {{drum: [perforation]}}}}
"""
IRRIGATED = "right: {before: {drum: [perforation]}, work: [{method: irrigation, outcome: complete}]}\n"


@pytest.fixture
def practice(tmp_path: Path) -> Path:
    (tmp_path / "clinical").mkdir()
    for name in ("practice.yaml", "doctors.csv"):
        (tmp_path / name).write_bytes(table_path("demo", name).read_bytes())
    first = VISIT.format(number="V1", start="2026-03-03T10:00", history="mastoidectomy") + IRRIGATED
    second = VISIT.format(number="V2", start="2026-05-03T10:00", history="none known") + IRRIGATED
    (tmp_path / "visits.yaml").write_text(f"{first}---\n{second}", encoding="utf-8")
    return tmp_path


def issues(practice: Path) -> list[dict[str, Any]]:
    given = ["check", str(practice / "visits.yaml"), "--practice", str(practice), "--json"]
    result = CliRunner().invoke(main, given)
    assert result.exit_code in (0, 1), result.output
    found: list[dict[str, Any]] = json.loads(result.stdout)["issues"]
    return found


def codes(found: list[dict[str, Any]]) -> list[str]:
    return [one["rule"] for one in found]


def changed(practice: Path, text: str) -> list[dict[str, Any]]:
    (practice / "clinical" / "ours.yaml").write_text(f"changes:\n  - {text}\n", encoding="utf-8")
    return issues(practice)


def test_visits_are_held_against_each_other(practice: Path) -> None:
    (clash,) = [one for one in issues(practice) if one["rule"] == "C582"]
    assert clash["message"] == "This visit denies ear surgery of the left ear, which line 1 records."


def test_a_rule_is_off_until_a_day_and_told_once(practice: Path) -> None:
    fired = codes(issues(practice)).count("C240")
    assert fired == 2
    found = codes(changed(practice, "{code: C240, switch: off, reason: We look by hand., until: 2026-03-31}"))
    assert (found.count("C240"), found.count("C591"), found.count("C593")) == (1, 1, 1)


def test_a_rule_that_is_raised_to_an_error_holds_the_letter_back(practice: Path) -> None:
    assert {one["severity"] for one in issues(practice) if one["rule"] == "C240"} == {"warning"}
    found = changed(practice, "{code: C240, severity: error, reason: It went wrong once.}")
    assert {one["severity"] for one in found if one["rule"] == "C240"} == {"error"}


def test_a_file_with_faults_stops_the_run_with_its_lines(practice: Path) -> None:
    (practice / "clinical" / "ours.yaml").write_text("changes:\n  - {code: C240, switch: off}\n", encoding="utf-8")
    result = CliRunner().invoke(main, ["check", str(practice / "visits.yaml"), "--practice", str(practice)])
    assert result.exit_code == 3
    assert "ours.yaml, line 2: says no reason" in result.stderr
