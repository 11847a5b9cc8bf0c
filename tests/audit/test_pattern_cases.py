"""Every rule of the audit's patterns against its cases in tests/cases/<RULE>.yaml: what passes, and what is told."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml

from bridge.audit.patterns import of_rule
from bridge.audit.shapes import Audited
from bridge.audited import audit
from bridge.data import table_path
from bridge.issues import Issue, rules
from bridge.pipeline import Converter
from bridge.practice import load_practice

CASES = Path(__file__).parents[1] / "cases"
CODES = sorted(code for code in rules() if "A100" < code < "A190")
SNOMED = "http://snomed.info/sct"
SITES = {"left": ["89644007"], "right": ["25577004"], "both": ["25577004", "89644007"]}
LONG = "Hard plug in three pieces from the depth of the canal, skin behind it pale and whole, spoke of drops."
OF_ALL = "A135"
"""Told of all records together."""

Case = dict[str, Any]


@pytest.fixture(scope="module")
def converter(tmp_path_factory: pytest.TempPathFactory) -> Converter:
    folder = tmp_path_factory.mktemp("practice")
    for name in ("practice.yaml", "doctors.csv"):
        (folder / name).write_bytes(table_path("demo", name).read_bytes())
    practice, issues = load_practice(folder)
    assert practice is not None
    return Converter(practice, folder, issues)


@cache
def load(code: str) -> dict[str, list[Case]]:
    cases: dict[str, list[Case]] = yaml.safe_load((CASES / f"{code}.yaml").read_text(encoding="utf-8"))
    return cases


def resource(short: Case, nth: int) -> Case:
    kind = short["is"]
    concept = "medicationCodeableConcept" if kind.startswith("Medication") else "code"
    made: Case = {"resourceType": kind, "id": f"r{nth}", "subject": {"reference": "Patient/p"}}
    made[concept] = {"text": short["words"]}
    if "code" in short:
        name = {"display": short["name"]} if "name" in short else {}
        made[concept]["coding"] = [{"system": SNOMED, "code": str(short["code"]), **name}]
    if "coding" in short:
        made[concept]["coding"] = short["coding"]
    sites = [str(short["site"])] if "site" in short else SITES.get(short.get("side", ""), [])
    if sites:
        made["bodySite"] = [{"coding": [{"system": SNOMED, "code": code}]} for code in sites]
    if kind == "Condition":
        made["clinicalStatus"] = {"coding": [{"code": short.get("clinical", "active")}]}
        made["verificationStatus"] = {"coding": [{"code": short.get("verification", "confirmed")}]}
    else:
        made["status"] = "final" if kind == "Observation" else "completed"
    if not short.get("apart"):
        made["encounter"] = {"reference": "Encounter/e"}
    if "day" in short:
        made["effectiveDateTime" if kind == "Observation" else "performedDateTime"] = short["day"]
    if "note" in short:
        made["note"] = [{"text": LONG if short["note"] == "LONG" else short["note"]}]
    if "complication" in short:
        made["complication"] = [{"text": short["complication"]}]
    return made


def bundle(shorts: list[Case]) -> Case:
    first: list[Case] = [
        {"resourceType": "Patient", "id": "p"},
        {"resourceType": "Encounter", "id": "e", "period": {"start": "2026-05-04", "end": "2026-05-04"}},
    ]
    entries = [*first, *(resource(short, nth) for nth, short in enumerate(shorts))]
    return {"resourceType": "Bundle", "type": "collection", "entry": [{"resource": one} for one in entries]}


def visit(what: Case) -> Case:
    client = {"number": "C-1", "legal_name": {"family": "Tennick", "given": ["Harold"]}, "birth_date": "1952-06-14"}
    return {"number": "V1", "client": client, "start": "2026-05-04T10:00+01:00", "practitioners": ["PS"], **what}


def told(case: Case, converter: Converter, folder: Path) -> Audited:
    if "visit" in case:
        file = folder / "visit.yaml"
        file.write_text(yaml.safe_dump(visit(case["visit"])), encoding="utf-8")
    else:
        bundles = case.get("bundles") or [case["bundle"]]
        file = folder / "sent.ndjson"
        file.write_text("".join(json.dumps(bundle(one)) + "\n" for one in bundles), encoding="utf-8")
    return audit([file], converter)


def found(code: str, audited: Audited) -> list[Issue]:
    if code == OF_ALL:
        return [one for one in audited.issues if one.rule == code]
    return [one for pattern in audited.patterns for one in pattern.evidence if one.rule == code]


@pytest.mark.parametrize("code", CODES)
def test_what_passes(code: str, converter: Converter, tmp_path: Path) -> None:
    for case in load(code)["passes"]:
        assert found(code, told(case, converter, tmp_path)) == [], case


@pytest.mark.parametrize("code", CODES)
def test_what_is_told(code: str, converter: Converter, tmp_path: Path) -> None:
    for case in load(code)["fails"]:
        audited = told(case, converter, tmp_path)
        issues = found(code, audited)
        assert issues, case
        for one in issues:
            assert one.rule == OF_ALL or (one.where.file and one.where.path and one.where.record), case
        if code != OF_ALL:
            shown = {pattern.code for pattern in of_rule()[code]}
            assert all(p.records.count and code in p.rules for p in audited.patterns if p.pattern in shown), case


@pytest.mark.parametrize("code", CODES)
def test_messages_never_quote_notes_or_people(code: str, converter: Converter, tmp_path: Path) -> None:
    for case in load(code)["fails"]:
        for one in found(code, told(case, converter, tmp_path)):
            said = one.message + one.cause + one.help
            assert not any(word in said for word in ("Tennick", "Harold", "C-1", LONG[:20], "1952")), case
