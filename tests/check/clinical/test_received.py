"""Received bundles are looked over by the clinical rules as records are, whoever coded them."""

from __future__ import annotations

from pathlib import Path
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest

from bridge.build import build_document
from bridge.check.clinical import judge, load_rules
from bridge.coding import code_visit, load_term_maps
from bridge.data import table_path
from bridge.fhir.systems import OWN
from bridge.fhir.write_json import dumps
from bridge.issues import Issue
from bridge.received import SecondLook, check_received
from bridge.visit import Visit
from tests.check.clinical.test_cases import visit_of

NAMESPACE, LONDON = UUID(int=7), ZoneInfo("Europe/London")
WET = {"right": {"before": {"drum": ["perforation"]}, "work": [{"method": "irrigation", "outcome": "complete"}]}}


def bundle(visit: Visit) -> Any:
    return build_document(visit, NAMESPACE, LONDON)


def found(data: Any, look: SecondLook | None = None, file: str = "a.json") -> list[Issue]:
    read, issues = check_received(dumps(data), file)
    assert read is not None
    return (look or SecondLook()).over(read, file, issues)


def codes(issues: list[Issue]) -> set[str]:
    return {one.rule for one in issues}


@pytest.fixture(autouse=True)
def nowhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No practice folder above."""
    monkeypatch.chdir(tmp_path)


def test_a_bundle_is_judged_as_its_record_is() -> None:
    visit = visit_of(WET)
    of_record = {one.rule.code for one in judge(visit, load_rules()) if one.matters}
    assert of_record
    assert codes(found(bundle(visit))) >= of_record
    assert all(one.where.file == "a.json" and one.where.record == "V1" for one in found(bundle(visit)))


def test_codes_of_others_are_understood() -> None:
    """Our own code is taken out of the drum's finding and the method, whose words are in German."""
    ours = bundle(visit_of(WET))
    assert codes(found(without_own(ours))) == codes(found(ours))


def without_own(value: Any) -> Any:
    """The same bundle with a finding and a method as somebody else would code them."""
    if isinstance(value, list):
        return [without_own(item) for item in value]
    if not isinstance(value, dict):
        return value
    codings = value.get("coding")
    if isinstance(codings, list) and any(c.get("code") in ("drum-perforation", "method-irrigation") for c in codings):
        kept = [c for c in codings if c.get("system") != OWN]
        assert kept
        return {**value, "coding": kept, "text": "Loch" if value.get("text") == "perforation" else "Spülung"}
    return {key: without_own(inner) for key, inner in value.items()}


def test_errors_of_the_standard_come_first() -> None:
    broken = bundle(visit_of(WET))
    broken["entry"][1]["resource"]["gender"] = "neither"
    assert found(broken) == []


@pytest.mark.parametrize("data", [{"resourceType": "Patient"}, {"resourceType": "Bundle", "type": "collection"}])
def test_what_holds_no_visit_is_left_alone(data: dict[str, Any]) -> None:
    assert found(data) == []


def test_documents_of_one_run_are_held_against_each_other() -> None:
    look = SecondLook()
    had, never = ({"left": {"history": [word]}} for word in ("mastoidectomy", "none known"))
    assert "C582" not in codes(found(bundle(visit_of(had)), look))
    later = visit_of({**never, "number": "V2", "start": "2026-06-03T10:00+01:00"})
    (clash,) = [one for one in found(bundle(later), look, "b.json") if one.rule == "C582"]
    assert clash.message == "This visit denies ear surgery of the left ear, which a.json records."


def test_the_practice_may_switch_off_and_says_so_once(tmp_path: Path) -> None:
    from tests.check.clinical.refused import written

    fired = sorted(one.rule.code for one in judge(visit_of(WET), load_rules("uk")) if one.verdict == "fires")[0]
    (tmp_path / "clinical").mkdir()
    change = written([{"code": fired, "switch": False, "reason": "We look at it by hand."}])
    (tmp_path / "clinical" / "ours.yaml").write_text(change.replace("rules:", "changes:", 1), encoding="utf-8")
    (tmp_path / "practice.yaml").write_bytes(table_path("demo", "practice.yaml").read_bytes())
    look = SecondLook(tmp_path)
    first, second = found(bundle(visit_of(WET)), look), found(bundle(visit_of({**WET, "number": "V2"})), look)
    assert fired not in codes(first) | codes(second)
    assert [one.message for one in (*first, *second) if one.rule in ("C591", "C592")] == [
        f"Rule {fired} is switched off by the practice: We look at it by hand."
    ]


def test_a_coded_visit_is_what_is_judged() -> None:
    plain = Visit.model_validate(
        {"number": "V1", "start": "2026-05-03", "client": {"legal_name": {"family": "Rowe"}}, **WET}
    )
    assert codes(found(bundle(code_visit(plain, load_term_maps())[0]))) >= {"C590"}
