"""Every rule of the checks against its cases in tests/cases/<RULE>.yaml.

`passes` are resources (or `visit:` records, `text:`/`hex:` files, or what to `write:` in XML) in which the rule finds
nothing and no other rule an error; `fails` name the place where exactly this rule speaks, and under `also` what
follows from the fault. Cases are written from the page of the standard that the rule's own page names; C rules from
their source there.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from bridge.check import check_bundle
from bridge.check.visit import check_visit
from bridge.fhir.received import read_received
from bridge.fhir.write_xml import NotXmlError, write_xml
from bridge.issues import Issue, Severity, rules
from bridge.visit import Visit

FOLDER = Path(__file__).parents[1] / "cases"
OTHERS = ("S180", "T2", *(f"C{digit}" for digit in range(2, 10)))
RULES = [code for code in sorted(rules()) if code[0] in "SVBTNC" and not code.startswith(OTHERS)]
"""Others have tests of their own: S180, the second opinion, in tests/fhir/test_model.py; T2xx in tests/terminology; P
in tests/check/profiles and tests/check/test_extension_contexts.py; C2xx and on in tests/check/clinical and across."""
ALWAYS_TOLD = {"V123", "C140", "C142", "C143"}
"""What small cases leave out: a narrative, a birth date, the ears, an outcome."""


def load(code: str) -> dict[str, Any]:
    cases: dict[str, Any] = yaml.safe_load((FOLDER / f"{code}.yaml").read_text(encoding="utf-8"))
    return cases


def run(given: Any) -> list[Issue]:
    if isinstance(given, dict) and "visit" in given:
        small = {} if given.get("whole") else {"attendance": "attended"}
        return check_visit(Visit.model_validate({**small, **given["visit"]}))
    if isinstance(given, dict) and ("text" in given or "hex" in given) and "resourceType" not in given:
        content = given["text"].encode() if "text" in given else bytes.fromhex(given["hex"])
        return read_received(content + b" " * given.get("repeat_blanks", 0))[1]
    if isinstance(given, dict) and "write" in given:
        try:
            write_xml(given["write"])
        except NotXmlError as error:
            return error.issues
        return []
    if isinstance(given, dict) and "times" in given:
        given = {**given["resource"], given["list"]: [given["item"]] * given["times"]}
    return [found for found in check_bundle(given) if found.rule[0] != "P"]  # profiles have tests of their own


PASSES = [pytest.param(c, g, id=f"{c}-{n}") for c in RULES for n, g in enumerate(load(c)["passes"])]
FAILS = [pytest.param(c, g, id=f"{c}-{n}") for c in RULES for n, g in enumerate(load(c)["fails"])]


@pytest.mark.parametrize("code", RULES)
def test_a_rule_has_cases_both_ways(code: str) -> None:
    cases = load(code)
    assert cases["passes"]
    assert cases["fails"]


def test_no_cases_without_a_rule() -> None:
    assert {p.stem for p in FOLDER.glob("[SVBTN]*.yaml")} <= set(RULES)


@pytest.mark.parametrize(("code", "given"), PASSES)
def test_passes(code: str, given: Any) -> None:
    found = run(given)
    assert [i for i in found if i.rule == code or i.severity >= Severity.error] == []


@pytest.mark.parametrize(("code", "case"), FAILS)
def test_fails(code: str, case: dict[str, Any]) -> None:
    found = run(case["given"])
    mine = [i for i in found if i.rule == code]
    assert mine, [str(i) for i in found]
    places = [i.where.path or str(i.where) for i in mine]
    assert case["at"] in places
    assert {i.rule for i in found} - ALWAYS_TOLD - {code} == set(case.get("also", ()))
    for i in mine:
        assert i.severity is rules()[code].severity
        assert i.message.endswith(".")
        assert i.help
