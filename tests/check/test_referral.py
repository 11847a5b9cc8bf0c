"""What a referral letter lacks, one thing at a time and all at once."""

from __future__ import annotations

from typing import Any

import pytest

from bridge.check.referral import check_referral
from bridge.issues import Severity, rules
from tests.referrals import visit

LACKS: list[tuple[dict[str, Any], str, str]] = [
    ({"referral__question": None}, "D120", "referral.question"),
    ({"referral__rule": None}, "D121", "referral.rule"),
    ({"referral__rule": None, "referral__urgency": "urgent"}, "D121", "referral.rule"),
    ({"referral__rule": None, "referral__urgency": "routine"}, "D131", "referral.rule"),
    ({"referral__ear": None}, "D122", "referral.ear"),
    ({"left__symptoms": [{"term": "sudden hearing loss"}]}, "D123", "left.symptoms[0]"),
    ({"left__symptoms": [{"term": "hearing loss", "onset": "2026"}]}, "D123", "left.symptoms[0]"),
    (
        {"left__symptoms": [{"term": "earache", "developed_over": {"value": 2, "unit": "d"}}]},
        "D123",
        "left.symptoms[0]",
    ),
    ({"left__symptoms": None}, "D123", "left.symptoms"),
    ({"left__symptoms": ["no hearing loss"]}, "D123", "left.symptoms"),
    ({"left__before": None}, "D124", "left.before"),
    ({"left__work": None}, "D125", "left.work"),
    ({"medicines": None}, "D126", "medicines"),
    ({"allergies": None}, "D126", "allergies"),
    ({"practitioners": []}, "D128", "practitioners"),
    ({"practitioners": [{"key": "PS"}]}, "D128", "practitioners[0]"),
    ({"clinic": {"name": "Millbrook Ear Care"}}, "D128", "practitioners[0]"),
    ({"client__birth_date": None}, "D129", "client.birth_date"),
    ({"client__phones": None}, "D129", "client.phones"),
    ({"client__legal_name": {"given": ["Tobias"]}}, "D129", "client.legal_name.family"),
    ({"referral__told_by": None}, "D130", "referral.told_by"),
    ({"referral__told_by": "letter by post"}, "D130", "referral.told_by"),
    ({"referral__told_at": None}, "D130", "referral.told_by"),
    ({"referral__told_to": None}, "D130", "referral.told_to"),
    ({"referral__agreed": None}, "D130", "referral.told_to"),
    ({"referral__urgency": "routine"}, "D132", "referral.urgency"),
    ({"referral__urgency": "urgent"}, "D132", "referral.urgency"),
    ({"referral__rule": "RF99"}, "D133", "referral.rule"),
    ({"cautions": None}, "D134", "cautions"),
    ({"referral__client_told": None}, "D135", "referral.client_told"),
    ({"advice": None}, "D135", "advice"),
]
ENOUGH: list[dict[str, Any]] = [
    {},
    {"referral__rule": "our hospital's line for sudden loss"},
    {"referral__rule": "RF17", "referral__urgency": "routine"},
    {"referral__rule": "rf01, seen by both of us"},
    {"referral__rule": "RF24", "referral__urgency": "immediate"},
    {"left__symptoms": [{"term": "gradual hearing loss", "onset": "2010"}]},
    {"left__symptoms": [{"term": "earache", "note": "Since when and how fast: not known to her."}]},
    {"left__before": "not examined (too painful)"},
    {"left__before": None, "left__after": {"drum": "not seen (wax)"}},
    {"medicines": "not asked", "allergies": "not asked"},
    {"clinic": {"name": "Millbrook Ear Care"}, "practitioners__0__phone": "01632 960112"},
    {"client__phones": None, "client__address": {"city": "Aldersby"}},
    {"referral__told_by": "he rang the ward"},
    {"cautions": None, "left__history": ["perforation"]},
]


def found(**changes: Any) -> list[tuple[str, str]]:
    if "practitioners__0__phone" in changes:
        phone = changes.pop("practitioners__0__phone")
        changes["practitioners"] = [
            {"key": "PS", "name": {"family": "Sandholt"}, "role": "nurse", "no_register": True, "phone": phone}
        ]
    return [(i.rule, i.where.path) for i in check_referral(visit(**changes))]


@pytest.mark.parametrize("changes", ENOUGH)
def test_a_whole_referral_lacks_nothing(changes: dict[str, Any]) -> None:
    assert found(**changes) == []


@pytest.mark.parametrize(("changes", "code", "path"), LACKS)
def test_what_is_missing_is_told_at_its_place(changes: dict[str, Any], code: str, path: str) -> None:
    assert found(**changes) == [(code, path)]


NOT_CALLED = [
    "phone, no answer", "could not reach by phone", "not phoned yet", "left voicemail", "tried to call", "to phone",
    "will ring tomorrow", "phone: engaged", "called, message left", "rang out", "phone?", "couldn't reach by phone",
    "call planned", "phoned twice, not reached", "please call", "need to phone", "left a message by phone",
    "phone text", "letter by post",
]  # fmt: skip


@pytest.mark.parametrize("told_by", NOT_CALLED)
def test_a_call_that_did_not_come_about_is_none(told_by: str) -> None:
    assert found(referral__told_by=told_by) == [("D130", "referral.told_by")]


@pytest.mark.parametrize(
    "told_by", ["phone", "rang the ward", "spoke to the registrar", "in person", "called at 11:05"]
)
def test_a_call_that_came_about_is_one(told_by: str) -> None:
    assert found(referral__told_by=told_by) == []


def test_all_that_is_missing_is_told_at_once() -> None:
    gone = {
        "referral__question": None, "referral__rule": None, "left__symptoms": None, "left__before": None,
        "left__work": None, "medicines": None, "allergies": None, "client__phones": None, "client__birth_date": None,
    }  # fmt: skip
    told = [code for code, _ in found(**gone, left__note="seen")]
    assert told == ["D120", "D121", "D123", "D124", "D125", "D126", "D129"]


def test_a_must_is_an_error_and_a_should_is_a_warning() -> None:
    """Fields that a referral must have; an immediate case without a call is told, and the letter made all the same."""
    errors = {c for c in rules() if "D120" <= c <= "D139" and rules()[c].severity is Severity.error}
    assert errors == {*(f"D12{n}" for n in range(10)), "D137"}
    assert rules()["D130"].severity is Severity.warning


@pytest.mark.parametrize(
    ("reason", "asked"),
    [
        ("Hearing loss after clearing", True),
        ("Severe earache, worse at night", True),
        ("Perforation, no pain and no hearing loss", False),
        ("Denies any pain; growth of the canal", False),
        ("Growth of the canal, painful", True),
        ("Painting is what she does; growth of the canal", False),
    ],
)
def test_a_reason_in_words_asks_for_onset(reason: str, asked: bool) -> None:
    changes = {"referral__reason": reason, "referral__rule": "a local rule", "reasons": ["routine"]}
    told = found(**changes, left__symptoms=["itch"])
    assert told == ([("D123", "left.symptoms")] if asked else [])


def test_a_matter_of_no_ear_needs_no_findings_of_one() -> None:
    changes: dict[str, Any] = {"left": None, "referral__ear": "neither", "referral__rule": "a local rule"}
    assert found(**changes, reasons=["routine"]) == []


@pytest.mark.parametrize("ear", ["right", "left"])
def test_hearing_loss_of_no_ear_still_says_since_when_and_how_fast(ear: str) -> None:
    def about(symptoms: list[Any]) -> list[tuple[str, str]]:
        ears: dict[str, Any] = {"right": None, "left": None, **({ear: {"symptoms": symptoms}} if symptoms else {})}
        return found(referral__ear="neither", **ears)

    whole = {"term": "sudden hearing loss", "onset": "2026-05-25", "developed_over": {"value": 1, "unit": "d"}}
    assert about([whole]) == []
    assert about(["hearing loss"]) == [("D123", f"{ear}.symptoms[0]")]
    assert about([]) == [("D123", "referral.reason")]


def test_both_ears_need_findings_of_both() -> None:
    assert found(referral__ear="both", right=None) == [("D124", "right.before"), ("D125", "right.work")]
