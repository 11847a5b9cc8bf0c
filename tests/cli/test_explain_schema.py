"""`explain` shows the registry; `schema` shows the visit."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema_rs
import pytest
from click.testing import CliRunner

from bridge.cli import main
from bridge.cli.explain import nearest, page
from bridge.issues import Rule, Severity, rules


def run(*args: str) -> str:
    result = CliRunner().invoke(main, list(args))
    assert result.exit_code == 0, result.output
    return result.output


def test_the_list_names_every_rule_within_80_columns() -> None:
    lines = run("explain").splitlines()
    assert {line.split()[0] for line in lines if line} >= set(rules())
    assert max(map(len, lines)) <= 80


@pytest.mark.parametrize("code", sorted(rules()))
def test_every_page_prints_within_80_columns(code: str) -> None:
    text = run("explain", code.lower())
    assert text.startswith(f"{code}  ")
    assert max(map(len, text.splitlines())) <= 80
    for part in (rules()[code].what, rules()[code].do, rules()[code].why, rules()[code].source):
        assert " ".join(part.split()) in " ".join(text.split())


def test_examples_keep_their_lines() -> None:
    rule = Rule(
        "C101", "T", Severity.error, "value", "What.", "Do.", wrong="a:\n  b: 1\n", right="a:\n    b: 1", trade=True
    )
    lines = list(page(rule))
    assert lines[lines.index("Not like this") + 1 :][:2] == ["    a:", "      b: 1"]
    assert lines[lines.index("But like this") + 1 :][:2] == ["    a:", "        b: 1"]
    assert "not the patient" in lines[-1] + lines[-2]


def test_an_unknown_code_gets_its_neighbours_and_2() -> None:
    known = sorted(rules())[0]
    result = CliRunner().invoke(main, ["explain", known[:3] + "X"])
    assert result.exit_code == 2
    assert known in result.stderr


def test_a_word_finds_the_rules_whose_title_has_it() -> None:
    rule = rules()[sorted(rules())[0]]
    assert nearest(max(rule.title.split(), key=len), [rule]) == [rule.code]
    assert nearest("no such words", [rule]) == []


def test_json_of_one_and_of_all() -> None:
    code = sorted(rules())[0]
    assert json.loads(run("explain", code, "--json"))["code"] == code
    assert [row["code"] for row in json.loads(run("explain", "--json"))] == sorted(rules())
    assert {row["severity"] for row in json.loads(run("explain", "--json"))} <= set(Severity.__members__)


def test_the_schema_is_a_schema_and_knows_a_visit() -> None:
    schema = json.loads(run("schema"))
    validator = jsonschema_rs.Draft202012Validator(schema)
    assert schema["$id"].startswith("urn:uuid:")
    assert validator.is_valid(
        {"number": "V1", "client": {"legal_name": {"family": "Sample"}}, "start": "2025-03-04T10:00:00+00:00"}
    )
    assert not validator.is_valid({"number": "V1", "no_such_field": 1})


def test_the_schema_goes_to_a_file_with_the_same_bytes(tmp_path: Path) -> None:
    target = tmp_path / "visit.schema.json"
    assert run("schema", "--output", str(target)) == ""
    assert target.read_bytes() == run("schema").encode()


def test_a_file_that_cannot_be_written_is_3(tmp_path: Path) -> None:
    result = CliRunner().invoke(main, ["schema", "--output", str(tmp_path / "no" / "such")])
    assert result.exit_code == 3
    assert "No such file or directory" in result.stderr
