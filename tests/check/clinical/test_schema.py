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
    "nested",
    "nothing in it",
    "control characters",
)
"""Faults that a schema cannot see."""


def plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: plain(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [plain(inner) for inner in value]
    return value.isoformat() if isinstance(value, date) else value


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_a_shipped_file_conforms(path: Path) -> None:
    assert [str(e.message)[:200] for e in SCHEMA.iter_errors(plain(read_rule_file(path)))] == []


def _in_shape(case: dict[str, Any]) -> bool:
    """Whether only the loader can see the fault: what a name means, how deep parts stand, whose file it is."""
    return any(said in case["says"] for said in NAMES) or case.get("with", {}).get("code") == "C901"


@pytest.mark.parametrize("case", [c for c in cases("rules") if not _in_shape(c)], ids=lambda case: case["says"][:50])
def test_a_refused_rule_does_not_conform(case: dict[str, Any]) -> None:
    gone = {case.get("without"), case.get("and_without")}
    rule = {key: value for key, value in {**RULE, **case.get("with", {})}.items() if key not in gone}
    assert not SCHEMA.is_valid(plain({"rules": [rule]}))


def test_the_good_rule_and_a_change_conform() -> None:
    change = {"code": "C201", "switch": False, "reason": "We never irrigate.", "until": "2026-12-31"}
    assert SCHEMA.is_valid(plain({"rules": [RULE], "changes": [change]}))
    assert not SCHEMA.is_valid({"changes": [{"code": "C201", "switch": False}]})
