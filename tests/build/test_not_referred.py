"""Why a red flag stands without a referral: recorded, carried in Provenance.reason, read back."""

from __future__ import annotations

from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest
from pydantic import ValidationError

from bridge.build import build_collection, build_document, build_transaction
from bridge.build.ips import build_client_summary
from bridge.check import check_bundle
from bridge.receive import bundle_to_visits
from bridge.visit import Visit
from bridge.visit.care import NotReferred

GIVEN = UUID(int=5), ZoneInfo("Europe/London")
REASON = "The ear service saw her this morning & plans <tests>."


def _visit(**more: Any) -> Visit:
    client = {"number": "C1", "legal_name": {"family": "Rowe", "given": ["Ann"]}, "birth_date": "1950-02-03"}
    start = "2026-05-03T10:00+01:00"
    return Visit.model_validate({"number": "V1", "client": client, "start": start, "practitioners": ["JM"], **more})


def _reasons(bundle: dict[str, Any]) -> list[Any]:
    found = [e["resource"] for e in bundle["entry"] if e["resource"]["resourceType"] == "Provenance"]
    return [r.get("reason") for r in found]


def test_words_alone_are_the_reason() -> None:
    assert _visit(not_referred=REASON).not_referred == NotReferred(reason=REASON)


@pytest.mark.parametrize("words", ["-", "N/A", "none", "No.", "not referred", {"reason": "n/a", "rules": ["RF01"]}])
def test_words_that_give_no_reason_answer_nothing(words: Any) -> None:
    assert _visit(not_referred=words).not_referred is None


def test_flags_without_a_reason_are_refused() -> None:
    with pytest.raises(ValidationError):
        _visit(not_referred={"rules": ["RF01"]})


@pytest.mark.parametrize("build", [build_document, build_transaction, build_collection])
@pytest.mark.parametrize("rules", [[], ["RF01"], ["C205", "RF 11"]])
def test_it_stands_in_the_provenance_and_comes_back(build: Any, rules: list[str]) -> None:
    visit = _visit(not_referred={"reason": REASON, "rules": rules})
    bundle = build(visit, *GIVEN)
    assert [[r["text"] for r in told] for told in _reasons(bundle)] == [[REASON, *rules]]
    assert [i.message for i in check_bundle(bundle) if "Provenance" in f"{i.message} {i.where.path}"] == []
    visits, issues = bundle_to_visits(bundle)
    assert (visits[0].not_referred, issues) == (visit.not_referred, [])


def test_a_visit_without_it_has_no_reason_in_its_provenance() -> None:
    assert _reasons(build_document(_visit(), *GIVEN)) == [None]


def test_the_summary_of_the_whole_record_leaves_it_out() -> None:
    bundle = build_client_summary([_visit(not_referred={"reason": REASON, "rules": ["RF01"]})], *GIVEN)
    assert _reasons(bundle) == [None]
    assert "this morning" not in str(bundle)


@pytest.mark.parametrize(
    "reason",
    [
        {"text": "treatment"},
        {
            "text": "seen there",
            "coding": [{"system": "http://terminology.hl7.org/CodeSystem/v3-ActReason", "code": "COC"}],
        },
        {"coding": [{"system": "http://terminology.hl7.org/CodeSystem/v3-ActReason", "code": "TREAT"}]},
    ],
)
def test_another_reason_of_a_provenance_answers_no_flag(reason: dict[str, Any]) -> None:
    bundle = build_document(_visit(), *GIVEN)
    for entry in bundle["entry"]:
        if entry["resource"]["resourceType"] == "Provenance":
            entry["resource"]["reason"] = [reason]
    assert [v.not_referred for v in bundle_to_visits(bundle)[0]] == [None]
