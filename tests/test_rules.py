"""The registry of rules and the code agree: every code used has a page, every page is used and complete."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest
import yaml

from bridge.check.clinical import load_rules
from bridge.cli.explain import FAMILIES
from bridge.issues import Rule, Severity, rules
from tests.standards import standard_json

ROOT = Path(__file__).parents[1]
CODE = re.compile(r"[A-Z]\d{3}")
RANGES = {
    "R": (100, 399),  # 1xx rows and values, 2xx layouts, 3xx practice folder
    "M": (100, 199),
    "S": (100, 199),
    "B": (100, 199),
    "C": (100, 599),
    "D": (100, 299),  # 2xx sending and de-identification
    "X": (100, 199),
    "V": (100, 499),  # 25x definitions, 35x terminology, 37x conformance, 40x testing
    "N": (100, 199),
    "P": (100, 199),
    "T": (100, 299),
    "A": (100, 299),
}
CLINICAL = {rule.code for rule in load_rules()}
TABLES_WITH_RULES = [p for p in (ROOT / "mappings").rglob("*") if p.suffix in {".yaml", ".csv"}]


def codes_in_python() -> dict[str, str]:
    """Rule codes that stand as whole strings in bridge/, with one place each."""
    found: dict[str, str] = {}
    for path in sorted((ROOT / "bridge").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and CODE.fullmatch(node.value):
                found.setdefault(node.value, f"{path.relative_to(ROOT)}:{node.lineno}")
    return {code: place for code, place in found.items() if code[0] in RANGES}


def codes_in_tables() -> set[str]:
    """Rule codes named by tables outside the pages themselves."""
    texts = (p.read_text(encoding="utf-8") for p in TABLES_WITH_RULES if p.parent.name not in {"rules", "codes"})
    return {code for text in texts for code in re.findall(rf"\b{CODE.pattern}\b", text)}


def test_every_code_used_has_a_page() -> None:
    missing = {code: place for code, place in codes_in_python().items() if code not in rules()}
    assert missing == {}


def test_every_page_is_used() -> None:
    """Those of clinical rules are used by the rules themselves, which stand beside them."""
    assert set(rules()) - set(codes_in_python()) - codes_in_tables() - CLINICAL == set()


def test_a_clinical_rule_and_its_page_are_one() -> None:
    pages = {code: rule for code, rule in rules().items() if rule.status}
    assert set(pages) == CLINICAL
    for rule in load_rules():
        page = pages[rule.code]
        assert (page.title, page.severity, page.source) == (rule.title, rule.severity, rule.source)
        assert (page.flag, page.urgency, page.to) == (rule.flag, rule.urgency, rule.to)


def test_codes_of_clinical_rules_leave_room_for_those_across_visits() -> None:
    """C580 to C589 are about several visits, C590 to C599 about the rules as a whole; both are raised in Python."""
    assert {code for code in CLINICAL if not "C200" <= code < "C580"} == set()


def test_a_rule_from_memory_is_no_error() -> None:
    assert {
        code for code, rule in rules().items() if rule.status == "memory" and rule.severity >= Severity.error
    } == set()


@pytest.mark.parametrize("path", sorted((ROOT / "mappings/rules").glob("*.yaml")), ids=lambda p: p.name)
def test_a_file_of_pages_holds_one_letter_in_order(path: Path) -> None:
    codes = [row["code"] for row in yaml.safe_load(path.read_text(encoding="utf-8"))["rules"]]
    assert {code[0] for code in codes} == {path.name[0]}
    assert codes == sorted(codes)


@pytest.mark.parametrize("rule", rules().values(), ids=lambda r: r.code)
def test_a_page_is_complete(rule: Rule) -> None:
    assert CODE.fullmatch(rule.code)
    low, high = RANGES[rule.code[0]]
    assert low <= int(rule.code[1:]) <= high
    assert rule.code[0] in FAMILIES
    assert 0 < len(rule.title) <= 80
    assert not rule.title.endswith(".")
    for text in (rule.what, rule.do):
        assert text.strip().endswith((".", "?", "!"))


@pytest.mark.parametrize("rule", [r for r in rules().values() if r.code[0] == "C"], ids=lambda r: r.code)
def test_a_check_of_the_trade_names_its_source(rule: Rule) -> None:
    assert rule.source.strip()


def test_kinds_are_codes_of_the_published_issue_type() -> None:
    """Oracle: CodeSystem issue-type of FHIR R4 4.0.1 (valuesets.json)."""
    system = next(
        entry["resource"]
        for entry in standard_json("fhir-r4/valuesets.json.gz")["entry"]
        if entry["resource"]["resourceType"] == "CodeSystem"
        and entry["resource"]["url"] == "http://hl7.org/fhir/issue-type"
    )
    published: set[str] = set()
    concepts = list(system["concept"])
    while concepts:
        concept = concepts.pop()
        published.add(concept["code"])
        concepts += concept.get("concept", [])
    assert {rule.code: rule.kind for rule in rules().values() if rule.kind not in published} == {}


def test_a_kind_is_not_one_that_promises_another_try() -> None:
    """`transient` and its kinds tell a program to send the same again (issue-type); that mends no record."""
    transient = {"transient", "lock-error", "no-store", "timeout", "incomplete", "throttled"}
    assert {c for c, rule in rules().items() if rule.kind in transient} <= {"R154", "D220", "D225", "D226"}
    edits = {"conflict", "duplicate"}  # of versions on a server, and of records
    assert {code for code, rule in rules().items() if rule.kind in edits and code[0] in "SVNPT"} == set()
