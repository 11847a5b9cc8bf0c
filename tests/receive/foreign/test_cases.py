"""Each rule of foreign bundles speaks where it should, and only there (`tests/cases/X15*.yaml`, `X16*.yaml`)."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import pytest
import yaml

from bridge.data import load_yaml, table_path
from bridge.receive.foreign import read_foreign

FOLDER = Path(__file__).parents[2] / "cases"
BUNDLE = json.loads((Path(__file__).parent / "ear_clinic.json").read_text(encoding="utf-8"))
CODES = [row["code"] for row in load_yaml(table_path("rules", "X-foreign.yaml"))["rules"]]
Json = dict[str, Any]


def given(case: Json) -> Json:
    bundle: Json = {**copy.deepcopy(BUNDLE), **case.get("bundle", {})}
    for entry in bundle["entry"]:
        resource = entry["resource"]
        name = resource["id"]
        entry.update({"fullUrl": case["urls"][name]} if name in case.get("urls", {}) else {})
        resource.update(case.get("change", {}).get(name, {}))
        entry["resource"] = {key: value for key, value in resource.items() if value is not None}
    if "first" in case:
        bundle["entry"].insert(0, {"resource": case["first"]})
    return bundle


def load(code: str) -> Json:
    cases: Json = yaml.safe_load((FOLDER / f"{code}.yaml").read_text(encoding="utf-8"))
    return cases


@pytest.mark.parametrize("code", CODES)
def test_it_is_quiet(code: str) -> None:
    cases = load(code)
    assert cases["passes"]
    for case in cases["passes"]:
        assert code not in {i.rule for i in read_foreign(given(case)).issues}, case


@pytest.mark.parametrize("code", CODES)
def test_it_speaks_at_its_place(code: str) -> None:
    cases = load(code)
    assert cases["fails"]
    for case in cases["fails"]:
        assert (code, case["at"]) in {(i.rule, i.where.path) for i in read_foreign(given(case)).issues}, case
