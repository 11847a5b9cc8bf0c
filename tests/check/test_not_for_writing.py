"""Codes that are known and never written: every one is noticed where it is received, and stands in no table of ours."""

from __future__ import annotations

import re
from typing import Any

import pytest

from bridge.check import check_bundle
from bridge.data import load_csv, mappings_root, table_path
from bridge.fhir.own import verified
from tests.test_mappings import NOT_FOR_WRITING, reference

SCT = "http://snomed.info/sct"
ROWS = list(load_csv(table_path("not-for-writing.csv")))
ONLY_KNOWN = {"laterality.csv", "not-for-writing.csv", "retired.csv", "body-sites.csv"}
"""Tables that nothing is written from; pages of rules show some as examples of what is wrong."""


def condition(code: str) -> dict[str, Any]:
    site = {"coding": [{"system": SCT, "code": "89644007"}]}
    return {
        "resourceType": "Condition",
        "subject": {"display": "x"},
        "code": {"coding": [{"system": SCT, "code": code}], "text": "x"},
        "bodySite": [site],
    }


def test_the_table_has_every_code_that_the_verified_table_warns_of() -> None:
    """Oracle: the table of codes verified by hand."""
    warned = {r["code"]: r for r in reference("snomed-ear.csv") if NOT_FOR_WRITING.search(r["preferred_use"])}
    assert {row["code"] for row in ROWS} == set(warned)
    for row in ROWS:
        names = {warned[row["code"]]["fsn_or_display"]} | {
            re.sub(r" \([a-z ]+\)$", "", warned[row["code"]]["fsn_or_display"])
        }
        assert row["display"] in names
        assert row["about"] in {"any", "ear"}


def test_no_table_that_we_write_from_holds_one() -> None:
    barred = {row["code"] for row in ROWS}
    held = [
        (path.relative_to(mappings_root()).as_posix(), code)
        for path in sorted(mappings_root().rglob("*"))
        if path.suffix in {".csv", ".yaml", ".j2", ".json"}
        if path.name not in ONLY_KNOWN and path.parent.name != "rules"
        for code in set(re.findall(r"(?<!\d)\d{6,18}(?!\d)", path.read_text(encoding="utf-8"))) & barred
    ]
    assert held == []


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["code"])
def test_it_is_noticed_and_a_better_code_named(row: dict[str, str]) -> None:
    (found,) = [i for i in check_bundle(condition(row["code"])) if i.rule == "T101"]
    assert found.where.path == "Condition.code.coding[0].code"
    assert row["display"] in found.message
    better = row["instead"].split()
    assert better
    for name in better:
        assert name in verified()
        assert name.removeprefix("sct:") not in {r["code"] for r in ROWS}
        assert verified()[name]["display"] in found.message


def test_advice_for_ears_is_silent_elsewhere() -> None:
    for row in ROWS:
        elsewhere = condition(row["code"])
        elsewhere["bodySite"] = [{"coding": [{"system": SCT, "code": "7771000"}], "text": "left hand"}]
        found = [i for i in check_bundle(elsewhere) if i.rule == "T101"]
        assert bool(found) == (row["about"] == "any"), row["code"]
