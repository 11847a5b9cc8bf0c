"""Rules about whose a visit is, which version, and which document says most: `tests/cases/X17*.yaml`.

What is expected follows from the rules' own pages and from what a receiving clinic must never do: take two people for
one, or set a record back. The NHS numbers are of the range 999, their check digits worked out by hand from the weights
10 to 2 (NHS Data Dictionary, NHS NUMBER).
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from bridge.receive.settling import Settling
from bridge.visit import Clinic, Visit

CASES = Path(__file__).parents[1] / "cases"
BASE: dict[str, Any] = {
    "number": "V1",
    "start": "2026-03-01T10:00+00:00",
    "clinic": {"name": "Sender Ear Care", "organisation_code": "SEND1"},
    "client": {"number": "S-1", "legal_name": {"family": "Ash", "given": ["Rowan"]}, "birth_date": "1950-02-03"},
}
OWN = {"name": "Our Ear Care", "organisation_code": "OURS1"}
FILES = sorted(CASES.glob("X17*.yaml"))


def visit(said: dict[str, Any], clinic: dict[str, str]) -> Visit:
    client = {**BASE["client"], **said.get("client", {})}
    return Visit.model_validate({**BASE, "clinic": clinic, **said, "client": {k: v for k, v in client.items() if v}})


def cases() -> list[Any]:
    return [
        pytest.param(path.stem, case, id=f"{path.stem}-{case['name']}")
        for path in FILES
        for case in yaml.safe_load(path.read_text(encoding="utf-8"))
    ]


@pytest.mark.parametrize(("rule", "case"), cases())
def test_case(rule: str, case: dict[str, Any]) -> None:
    settling = Settling(Clinic.model_validate(OWN))
    for said in case.get("held", ()):
        settling.hold(visit(said, OWN))
    arrived = [{k: v for k, v in one.items() if k != "kind"} for one in case["arrived"]]
    kinds = [one.get("kind", "summary") for one in case["arrived"]]
    found = settling.settle([visit(one, BASE["clinic"]) for one in arrived], kinds)
    assert [[i.rule for i in one.issues] for one in found] == case["told"]
    files = case.get("files", [True] * len(found))
    assert [one.visit is not None for one in found] == files
    for one, client in zip(found, case.get("clients", ()), strict=False):
        assert one.visit is not None
        assert one.visit.client.number == client
    numbers = [one.visit.number for one in found if one.visit]
    if case.get("apart"):
        assert len({n.casefold() for n in numbers}) == len(numbers)
        assert not {n.casefold() for n in numbers} & {h.get("number", "V1").casefold() for h in case.get("held", ())}
    for one in found:
        for told in one.issues:
            assert not any(word in told.message for word in ("Ash", "Rowan", "1950", "999", "S-1", "C-"))


def test_every_rule_has_a_case_that_meets_it_and_one_that_does_not() -> None:
    for path in FILES:
        said = [[r for told in case["told"] for r in told] for case in yaml.safe_load(path.read_text(encoding="utf-8"))]
        assert any(path.stem in rules for rules in said), path.stem
        assert any(path.stem not in rules for rules in said), path.stem
    assert [path.stem for path in FILES] == [
        "X170", "X171", "X172", "X173", "X174", "X175", "X176", "X177", "X179",
    ]  # fmt: skip
