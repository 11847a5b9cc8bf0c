"""Unusual but valid resources of every kind, in which nothing may be an error, and faults that each must be one.

Both were written by hand from the pages of FHIR R4 (4.0.1) before they were ever run, as somebody would who knows the
standard and not this program: `unusual/valid.jsonl` (`told`: rules that may warn there), `unusual/invalid.jsonl`
(`at`: the place that an error must name; empty where any will do).
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from bridge.check.conformance import careful, check_conformance
from bridge.fhir.read_json import read_json
from bridge.fhir.received import read_received
from bridge.fhir.write_xml import write_xml
from bridge.issues import Severity

FOLDER = Path(__file__).with_name("unusual")


def rows(name: str) -> list[Any]:
    lines = (FOLDER / name).read_bytes().splitlines()
    return [pytest.param(row, id=row["is"]) for row in (read_json(line)[0] for line in lines)]


@pytest.mark.parametrize("row", rows("valid.jsonl"))
def test_what_is_valid_has_no_error(row: Any) -> None:
    found = check_conformance(row["given"])
    assert found == careful(row["given"])
    assert {issue.rule for issue in found if issue.severity < Severity.error} - {"V123"} == set(row.get("told", ()))
    assert [issue for issue in found if issue.severity >= Severity.error] == []


@pytest.mark.parametrize("row", rows("valid.jsonl"))
def test_nor_has_it_any_in_xml(row: Any) -> None:
    again, issues = read_received(write_xml(row["given"]))
    assert issues == []
    assert [i for i in check_conformance(again) if i.severity >= Severity.error] == []


@pytest.mark.parametrize("row", rows("invalid.jsonl"))
def test_each_fault_is_an_error_at_its_place(row: Any) -> None:
    found = check_conformance(row["given"])
    assert found == careful(row["given"])
    errors = [issue for issue in found if issue.severity >= Severity.error]
    assert errors
    assert row["at"] in {"", *(issue.where.path for issue in errors)}
