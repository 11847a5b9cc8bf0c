"""The JSON Schema for editors takes the files that are loaded, and refuses what is plainly wrong in their shape."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import jsonschema_rs
import pytest

from bridge.data import table_path
from bridge.rule_file import read_rule_file
from tests.check.clinical.refused import RULE, cases

SCHEMA = jsonschema_rs.Draft202012Validator(
    json.loads(table_path("schemas", "clinical-rule.schema.json").read_text(encoding="utf-8")), validate_formats=True
)
FILES = sorted(
    path for kind in ("groups", "questions", "rules") for path in table_path("clinical", kind).glob("*.yaml")
)
NAMES = (
    "there is no",
    "names {",
    "no field",
    "is no list",
    "no source",
    "neither visit",
    "no place",
    "not stand in",
    "not begin with",
)
"""Faults that only what the names mean can show, and codes that a schema for shipped and own files must both allow."""


def plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: plain(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [plain(inner) for inner in value]
    return value.isoformat() if isinstance(value, date) else value


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_a_shipped_file_conforms(path: Path) -> None:
    assert [str(e.message)[:200] for e in SCHEMA.iter_errors(plain(read_rule_file(path)))] == []


@pytest.mark.parametrize("case", cases("rules"), ids=lambda case: case["says"][:50])
def test_a_refused_rule_does_not_conform(case: dict[str, Any]) -> None:
    if any(said in case["says"] for said in NAMES) or case.get("with", {}).get("code") == "C901":
        pytest.skip("only the loader knows the names")
    gone = {case.get("without"), case.get("and_without")}
    rule = {key: value for key, value in {**RULE, **case.get("with", {})}.items() if key not in gone}
    if "nested" in case["says"] or "nothing in it" in case["says"]:
        pytest.skip("a schema does not count levels")
    assert not SCHEMA.is_valid(plain({"rules": [rule]}))


def test_the_good_rule_and_a_change_conform() -> None:
    change = {"code": "C201", "switch": False, "reason": "We never irrigate.", "until": "2026-12-31"}
    assert SCHEMA.is_valid(plain({"rules": [RULE], "changes": [change]}))
    assert not SCHEMA.is_valid({"changes": [{"code": "C201", "switch": False}]})
