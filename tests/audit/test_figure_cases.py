"""Rules A250 to A268 against their cases in tests/cases/<RULE>.yaml.

`rates` (count and whole by name) are held against `floors` and `ceilings`; or figures are made of so many `records`; or
records `dated` in these months are held against `months`, of which so many are `counted`; or `files` are read and
added, each as the good figures with `change` (path to value) under `key` and `name`, its digest and count of withheld
cells made anew unless `stale`, or as `text`. `expected` is the list of clinics, `months` the months asked for. In every
case no rule but the one in question, and those under `also`, may speak.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
import yaml

from bridge.audit.figures import About, Figures, figures, read_figures, refused
from bridge.audit.figures.make import digest, withheld
from bridge.audit.report.floors import missed
from bridge.audit.roll_up import added, expected_of
from bridge.audit.shapes import Agreement, Audited, Entry, Rate
from bridge.cli.audit.months import Within
from bridge.issues import Issue, rules
from tests.audit.hand_made import audited

FOLDER = Path(__file__).parents[1] / "cases"
RULES = [code for code in sorted(rules()) if "A250" <= code <= "A299"]
ATTRIBUTES = {"coded": "completeness", "text-only": "text_only"}


def load(code: str) -> dict[str, Any]:
    cases: dict[str, Any] = yaml.safe_load((FOLDER / f"{code}.yaml").read_text(encoding="utf-8"))
    return cases


def good(key: str = "k1", name: str = "Millbrook Ear Care") -> dict[str, Any]:
    return figures(audited(), About(key, name, "2026-11", "free"), lambda words: True)


def changed(data: dict[str, Any], path: str, value: Any) -> None:
    """Sets what stands at a path such as `months.0.records`; `gone` takes it away."""
    *way, last = [int(part) if part.isdigit() else part for part in path.split(".")]
    at: Any = data
    for part in way:
        at = at[part]
    if value == "gone":
        del at[last]
    else:
        at[last] = value


def content_of(given: dict[str, Any]) -> bytes:
    if "text" in given:
        return str(given["text"]).encode()
    data = good(given.get("key", "k1"), given.get("name", "Millbrook Ear Care"))
    for path, value in given.get("change", {}).items():
        changed(data, path, value)
    if given.get("stale"):
        return json.dumps(data).encode()
    if "withheld" not in given.get("change", {}):
        data["withheld"] = withheld({key: value for key, value in data.items() if key != "withheld"})
    return json.dumps({**data, "sha256": digest(data)}).encode()


def run(case: dict[str, Any]) -> list[Issue]:
    if "rates" in case:
        rates = {ATTRIBUTES.get(name, name): Rate(*value) for name, value in case["rates"].items()}
        agreed = (Agreement(("A", "B"), case["things"], case["agreement"], None, None),) if "agreement" in case else ()
        held = Audited(records=10, consistency=case.get("consistency"), agreement=agreed, **rates)
        return list(missed(held, case.get("floors", {}), case.get("ceilings", {})))
    if "records" in case:
        return refused(Audited(records=case["records"]))
    if "dated" in case:
        within = Within((case["months"][0], case["months"][1]))
        assert sum(within(Entry("1", month)) for month in case["dated"]) == case["counted"]
        return within.told()
    given, issues = list[Figures](), list[Issue]()
    for number, file in enumerate(case["files"], 1):
        found, told = read_figures(content_of(file), f"{number}.json")
        given += [found] if found else []
        issues += told
    listed = None
    if "expected" in case:
        listed, told = expected_of(str(case["expected"]).encode(), "clinics.csv")
        issues += told
    months = tuple(case["months"]) if "months" in case else None
    return issues + added(given, listed, months).issues


PASSES = [pytest.param(c, g, id=f"{c}-{n}") for c in RULES for n, g in enumerate(load(c)["passes"])]
FAILS = [pytest.param(c, g, id=f"{c}-{n}") for c in RULES for n, g in enumerate(load(c)["fails"])]


@pytest.mark.parametrize("code", RULES)
def test_a_rule_has_cases_of_both_kinds(code: str) -> None:
    cases = load(code)
    assert cases["passes"]
    assert cases["fails"]


@pytest.mark.parametrize(("code", "case"), PASSES)
def test_the_rule_is_quiet(code: str, case: dict[str, Any]) -> None:
    assert {found.rule for found in run(case)} == set(case.get("also", []))


@pytest.mark.parametrize(("code", "case"), FAILS)
def test_the_rule_speaks(code: str, case: dict[str, Any]) -> None:
    found = run(case)
    assert {one.rule for one in found} == {code, *case.get("also", [])}
    spoken = [one for one in found if one.rule == code]
    assert len(spoken) == case.get("times", len(spoken))
    for word in case.get("says", []):
        assert any(word in one.message for one in spoken), [one.message for one in spoken]
    if "at" in case:
        assert {str(one.where) for one in spoken} == {case["at"]}
