"""Every rule on words (M10x, M11x) against its cases in tests/cases/<RULE>.yaml: words in one field of a visit.

`passes` are words in which no M rule finds anything; in `fails` exactly this rule speaks, once. Written from common
practice of the trade.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from bridge.coding import TermMaps, code_visit, load_term_maps
from bridge.issues import Issue, rules
from bridge.nothing_words import says_nothing
from bridge.visit import Visit, terms_of

FOLDER = Path(__file__).parents[1] / "cases"
RULES = [code for code in sorted(rules()) if "M100" <= code < "M120"]
"""M12x and M13x are of whole records and settings, and have tests of their own."""
TERMED = {"findings", "events", "impressions", "symptoms", "history", "advice", "cautions"}
MANY = TERMED | {"consistency", "colour", "work", "softeners", "parts", "items"}


@pytest.fixture(scope="module")
def maps() -> TermMaps:
    return load_term_maps()


def load(code: str) -> dict[str, list[dict[str, Any]]]:
    cases: dict[str, list[dict[str, Any]]] = yaml.safe_load((FOLDER / f"{code}.yaml").read_text(encoding="utf-8"))
    return cases


def visit(case: dict[str, Any]) -> Visit:
    """A visit with the case's words in the case's field."""
    value: Any = {"text": case["words"], "assertion": case.get("said")}
    last = case["field"].split(".")[-1]
    if last in TERMED:
        value = {"term": value}
    elif last == "items":
        value = {"term" if case["field"].startswith("allergies") else "name": value}
    elif last == "softeners":
        value = {"name": value}
    beside = case.get("beside", {})
    for name in reversed(case["field"].split(".")):
        value = {name: [value] if name in MANY else value, **beside}
        beside = {}
        if name == "work" and "method" not in value["work"][0]:
            value["work"][0]["method"] = {"text": "microsuction"}
        if name == "place":
            value["term"] = {"text": "perforation"}
    return Visit.model_validate(
        {"number": "V1", "start": "2026-03-02", "client": {"legal_name": {"family": "Test"}}, **value}
    )


def found(case: dict[str, Any], maps: TermMaps) -> list[Issue]:
    return code_visit(visit(case), maps)[1]


PASSES = [pytest.param(case, id=f"{code}-{n}") for code in RULES for n, case in enumerate(load(code)["passes"])]
FAILS = [pytest.param(code, case, id=f"{code}-{n}") for code in RULES for n, case in enumerate(load(code)["fails"])]


def test_cases_and_rules_agree() -> None:
    assert {path.stem for path in FOLDER.glob("M*.yaml")} == set(RULES)


@pytest.mark.parametrize("case", PASSES)
def test_passes(case: dict[str, Any], maps: TermMaps) -> None:
    assert found(case, maps) == []
    coded, _ = code_visit(visit(case), maps)
    assert all(term.codings or says_nothing("method", term.text) for _, term in terms_of(coded))


@pytest.mark.parametrize(("code", "case"), FAILS)
def test_fails(code: str, case: dict[str, Any], maps: TermMaps) -> None:
    [issue] = found(case, maps)
    assert issue.rule == code
    assert issue.severity is rules()[code].severity
    assert issue.where.path.replace("[0]", "").startswith(case.get("at", case["field"]))
    assert issue.where.record == "V1"
    assert issue.message.endswith(".")
    assert issue.help
    assert case.get("near", "") in issue.message
    for word in case.get("names", ()):
        assert f"“{word}”" in issue.message
    coded, _ = code_visit(visit(case), maps)
    terms = dict(terms_of(coded))
    if not case.get("coded"):
        assert terms[issue.where.path].codings == ()
    assert case["words"] in {term.text for term in terms.values()}
