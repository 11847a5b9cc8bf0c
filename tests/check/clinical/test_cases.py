"""Every clinical rule against its cases in tests/cases/clinical/<CODE>.yaml.

A case says `fires`, `quiet` or `asks`, why, and where; its expectation comes from the source that the file or the case
names. Visits are written in words as practitioners write them, and coded as a record is.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml

from bridge.check.clinical import ClinicalRule, Judgement, judge, load_rules
from bridge.coding import code_visit, load_term_maps
from bridge.coding.term_map import TermMaps
from bridge.visit import Visit

FOLDER = Path(__file__).parents[2] / "cases" / "clinical"
FILES = sorted(FOLDER.glob("C*.yaml"))
BASE: dict[str, Any] = {
    "number": "V1",
    "client": {"legal_name": {"family": "Rowe", "given": ["Ida"]}, "birth_date": "1950-02-03"},
    "start": "2026-05-03T10:00+01:00",
}
LEAST = 200
"""Cases that the rules must have in all."""


@cache
def _load(path: Path) -> dict[str, Any]:
    cases: dict[str, Any] = yaml.safe_load(path.read_text(encoding="utf-8"))
    return cases


@cache
def maps() -> TermMaps:
    return load_term_maps()


@cache
def _by_code() -> dict[str, ClinicalRule]:
    return {rule.code: rule for rule in load_rules()}


def over(base: Any, given: Any) -> Any:
    """`given` laid over `base`, mapping by mapping."""
    if isinstance(base, dict) and isinstance(given, dict):
        return {**base, **{key: over(base.get(key), value) for key, value in given.items()}}
    return given


def visit_of(given: dict[str, Any]) -> Visit:
    return code_visit(Visit.model_validate(over(BASE, given)), maps())[0]


def verdict(found: list[Judgement]) -> str:
    said = {one.verdict for one in found}
    return "fires" if "fires" in said else "asks" if said else "quiet"


CASES = [
    pytest.param(path, case, id=f"{path.stem}-{n}") for path in FILES for n, case in enumerate(_load(path)["cases"])
]


@pytest.mark.parametrize(("path", "case"), CASES)
def test_case(path: Path, case: dict[str, Any]) -> None:
    rule = _by_code()[path.stem]
    found = judge(visit_of(case["visit"]), [rule])
    assert verdict(found) == case["says"], (case["why"], found)
    if "at" in case:
        assert case["at"] in [one.path for one in found if one.verdict == case["says"]]
    for one in found:
        assert "{" not in one.message
        assert all("{" not in asked for asked in one.asks)


@pytest.mark.parametrize("code", sorted(_by_code()))
def test_a_rule_has_cases_of_each_verdict(code: str) -> None:
    cases = _load(FOLDER / f"{code}.yaml")
    assert cases["rule"] == code
    said = {case["says"] for case in cases["cases"]}
    wanted = {"fires", "quiet", "asks"}
    if reason := cases.get("no_asks"):
        assert len(reason) > 10
        assert all(q.about_record for q in _by_code()[code].questions())
        wanted -= {"asks"}
    if reason := cases.get("no_fires"):
        assert len(reason) > 10
        wanted -= {"fires"}
    assert wanted <= said
    for case in cases["cases"]:
        assert set(case) <= {"says", "why", "at", "visit", "source"}
        assert case.get("source") or cases.get("source")


def test_no_cases_without_a_rule() -> None:
    assert {path.stem for path in FILES} == set(_by_code())


def test_there_are_enough_cases() -> None:
    assert len(CASES) >= LEAST
