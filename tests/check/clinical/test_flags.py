"""Which red flags stand, what answers them, and what is told of each. The rules here are made up for the flow."""

from __future__ import annotations

from typing import Any

import pytest

import bridge.check.clinical.flags as flags
from bridge.check.clinical.expression import Expression
from bridge.check.clinical.flags import Looked, look, open_flags
from bridge.check.clinical.rule import ClinicalRule, Judgement
from bridge.issues import Severity
from bridge.visit import Visit

NOTHING = Expression("all", ())
APPROVED = {"by": "JM", "at": "2026-05-03T11:00+01:00"}


def _rule(code: str = "C201", flag: str = "RF01", urgency: str = "immediate", to: tuple[str, ...] = ()) -> ClinicalRule:
    return ClinicalRule(code, Severity.warning, ("ear",), NOTHING, NOTHING, NOTHING, "x", "Title", "A source, 1.1",
                        flag=flag, urgency=urgency, to=to)  # fmt: skip


def _found(rule: ClinicalRule, ear: Any = "left", verdict: Any = "fires") -> Judgement:
    return Judgement(rule, verdict, ear or "", ear, f"What the {ear} ear shows.")


def _visit(**more: Any) -> Visit:
    client = {"number": "C1", "legal_name": {"family": "Rowe", "given": ["Ann"]}, "birth_date": "1950-02-03"}
    return Visit.model_validate({"number": "V1", "client": client, "start": "2026-05-03T10:00+01:00", **more})


def _referral(urgency: str, ear: str | None) -> dict[str, Any]:
    return {"referral": {"to": "ENT", "urgency": urgency, "reason": "loss", **({"ear": ear} if ear else {})}}


def _look(visit: Visit, *found: Judgement, monkeypatch: pytest.MonkeyPatch) -> Looked:
    monkeypatch.setattr(flags, "judge", lambda visit, rules: list(found))
    return look(visit, ())


@pytest.mark.parametrize("asked", ["routine", "urgent", "immediate"])
@pytest.mark.parametrize("urgency", ["routine", "urgent", "immediate"])
@pytest.mark.parametrize("ear", ["right", "left", "both", "neither", None])
@pytest.mark.parametrize("flagged", ["right", "left", None])
def test_a_referral_answers_a_flag_of_its_ear_if_it_is_as_fast(
    asked: str, urgency: str, ear: str | None, flagged: str | None
) -> None:
    """Exhaustive: what the referral says against what the flag asks for."""
    speed = {"routine": 1, "urgent": 2, "immediate": 3}
    same_ear = flagged is None or ear in (flagged, "both", None)
    alerts = open_flags(_visit(**_referral(urgency, ear)), [_found(_rule(urgency=asked), flagged)])
    answered = same_ear and speed[urgency] >= speed[asked]
    assert [a.slower for a in alerts] == ([] if answered else [same_ear])


def test_without_referral_and_reason_a_flag_is_open_with_all_that_a_letter_tells_of_it() -> None:
    (alert,) = open_flags(_visit(), [_found(_rule())])
    assert (alert.rule, alert.flag, alert.ear, alert.urgency, alert.path) == (
        "C201",
        "RF01",
        "left",
        "immediate",
        "left",
    )
    assert (alert.words, alert.source, alert.answered) == ("What the left ear shows.", "A source, 1.1", "")


@pytest.mark.parametrize(
    ("rules", "answered"),
    [([], True), (["RF01"], True), (["rf 01"], True), (["C201"], True), (["c201 "], True), (["RF02"], False),
     (["RF02", "RF01"], True), (["RF1"], False), (["RF011"], False), (["C2011"], False), (["all"], False)],
)  # fmt: skip
def test_a_reason_answers_the_flags_that_it_names_and_all_where_it_names_none(rules: list[str], answered: bool) -> None:
    visit = _visit(not_referred={"reason": "Seen there today.", "rules": rules})
    assert [a.answered for a in open_flags(visit, [_found(_rule())])] == ["Seen there today." if answered else ""]


def test_what_only_asks_and_what_is_no_flag_is_no_open_flag() -> None:
    assert open_flags(_visit(), [_found(_rule(), verdict="asks"), _found(_rule("C241", flag="", urgency=""))]) == []


def test_what_is_told_of_an_open_flag(monkeypatch: pytest.MonkeyPatch) -> None:
    looked = _look(_visit(), _found(_rule()), monkeypatch=monkeypatch)
    (found,) = looked.issues
    assert (found.rule, found.severity, found.attention) == ("C201", Severity.warning, True)
    assert found.message == (
        "What the left ear shows. This asks to be seen within 24 hours, and no referral is recorded."
    )
    assert looked.open_now


@pytest.mark.parametrize("urgency", ["urgent", "routine"])
def test_a_slower_flag_is_told_in_its_turn_and_holds_nothing_back(
    urgency: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    looked = _look(_visit(approved=APPROVED), _found(_rule(urgency=urgency)), monkeypatch=monkeypatch)
    assert [(i.rule, i.attention) for i in looked.issues] == [("C201", False)]
    assert len(looked.alerts) == 1
    assert not looked.open_now


def test_a_flag_that_its_referral_answers_is_not_told(monkeypatch: pytest.MonkeyPatch) -> None:
    looked = _look(
        _visit(approved=APPROVED, **_referral("immediate", "left")), _found(_rule()), monkeypatch=monkeypatch
    )
    assert looked == Looked([], [])


def test_a_flag_that_a_reason_answers_is_a_note_and_does_not_hold_the_approval(monkeypatch: pytest.MonkeyPatch) -> None:
    visit = _visit(approved=APPROVED, not_referred="Seen there today.")
    looked = _look(visit, _found(_rule()), monkeypatch=monkeypatch)
    (found,) = looked.issues
    assert (found.rule, found.severity, found.attention) == ("C201", Severity.information, False)
    assert found.message.endswith("The record says why nobody was asked to see the client.")
    assert "Seen there" not in found.message
    assert not looked.open_now


def test_a_reason_for_one_of_two_flags_leaves_the_other_open(monkeypatch: pytest.MonkeyPatch) -> None:
    one_of_two = _visit(approved=APPROVED, not_referred={"reason": "Seen there today.", "rules": ["RF02"]})
    both = (_found(_rule()), _found(_rule("C202", "RF02"), "right"))
    told = _look(one_of_two, *both, monkeypatch=monkeypatch)
    assert [(i.rule, i.severity.name) for i in told.issues] == [("C201", "warning"), ("C202", "information")]
    assert told.open_now


def test_a_referral_that_is_too_slow_is_told_and_leaves_the_flag_open(monkeypatch: pytest.MonkeyPatch) -> None:
    looked = _look(_visit(approved=APPROVED, **_referral("routine", "left")), _found(_rule()), monkeypatch=monkeypatch)
    assert [i.rule for i in looked.issues] == ["C201", "D171"]
    assert looked.issues[0].message.endswith(
        "This asks to be seen within 24 hours, and the referral recorded is slower."
    )


def test_of_a_referral_of_the_other_ear_nobody_says_that_it_is_too_slow(monkeypatch: pytest.MonkeyPatch) -> None:
    looked = _look(_visit(**_referral("routine", "right")), _found(_rule()), monkeypatch=monkeypatch)
    assert [i.rule for i in looked.issues] == ["C201"]


def test_a_reason_that_names_a_flag_which_does_not_stand_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    visit = _visit(not_referred={"reason": "Seen there today.", "rules": ["RF01", "RF10"]})
    looked = _look(visit, _found(_rule()), monkeypatch=monkeypatch)
    assert [(i.rule, i.where.path) for i in looked.issues] == [("C201", "left"), ("D172", "not_referred.rules[1]")]


@pytest.mark.parametrize("found", [_found(_rule(), verdict="asks"), _found(_rule(urgency="routine"))])
def test_a_reason_may_name_a_flag_that_only_asks_or_that_a_referral_answers(
    found: Judgement, monkeypatch: pytest.MonkeyPatch
) -> None:
    visit = _visit(not_referred={"reason": "Seen there today.", "rules": ["C201"]}, **_referral("routine", "left"))
    assert "D172" not in [i.rule for i in _look(visit, found, monkeypatch=monkeypatch).issues]


SERVICES = ("referral-ent", "referral-emergency")


@pytest.mark.parametrize(
    ("to", "named", "told"),
    [
        ("referral-ent", SERVICES, False),
        ("referral-hearing-aid-dispenser", SERVICES, True),
        ("referral-hearing-aid-dispenser", (), False),
        ("no-code-of-ours", SERVICES, False),
        ("", SERVICES, False),
    ],
)
def test_a_referral_to_another_kind_of_service_is_told(
    to: str, named: tuple[str, ...], told: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    codings = [{"system": "urn:x", "code": to}] if to else []
    place = {"text": "there", "codings": codings}
    visit = _visit(referral={**_referral("immediate", "left")["referral"], "to": place})
    looked = _look(visit, _found(_rule(to=named)), monkeypatch=monkeypatch)
    assert [i.rule for i in looked.issues] == (["D173"] if told else [])
    assert looked.alerts == []


def test_of_a_referral_that_is_slower_anyway_nobody_says_where_it_goes(monkeypatch: pytest.MonkeyPatch) -> None:
    place = {"text": "there", "codings": [{"system": "urn:x", "code": "referral-hearing-aid-dispenser"}]}
    visit = _visit(referral={**_referral("routine", "left")["referral"], "to": place})
    looked = _look(visit, _found(_rule(to=SERVICES)), monkeypatch=monkeypatch)
    assert [i.rule for i in looked.issues] == ["C201", "D171"]


def test_the_services_are_told_in_words() -> None:
    (alert,) = open_flags(_visit(), [_found(_rule(to=SERVICES))])
    assert alert.to == ("ear, nose and throat service", "emergency department")


@pytest.mark.parametrize(
    "words",
    ["x", "...", "--- ---", "0", "\u200b", "GP", "declined", "a b c", "tbc tbc", "N.A.", "not indicated", "as above"],
)
def test_a_word_or_a_dash_is_no_reason(words: str) -> None:
    (alert,) = open_flags(_visit(not_referred={"reason": words}), [_found(_rule())])
    assert alert.answered == ""


@pytest.mark.parametrize("words", ["Seen in A&E today", "Client declined.", "Will not go: knows the risk"])
def test_a_reason_has_two_words(words: str) -> None:
    (alert,) = open_flags(_visit(not_referred={"reason": words}), [_found(_rule())])
    assert alert.answered == words


def test_words_that_are_no_reason_are_told_of(monkeypatch: pytest.MonkeyPatch) -> None:
    looked = _look(_visit(not_referred={"reason": "zz"}), _found(_rule()), monkeypatch=monkeypatch)
    assert "says too little" in looked.issues[0].message
    assert "zz" not in looked.issues[0].message


@pytest.mark.parametrize(
    ("named", "answered"),
    [
        ("RF01", True),
        (" rf 01", True),
        ("C201", True),
        ("RF01 not this one", False),
        ("C201, C202", False),
        ("", False),
    ],
)
def test_a_flag_is_named_by_its_id_alone(named: str, answered: bool) -> None:
    visit = _visit(not_referred={"reason": "Seen there today already.", "rules": [named]} if named else None)
    (alert,) = open_flags(visit, [_found(_rule())])
    assert bool(alert.answered) is answered


@pytest.mark.parametrize("part", ["reason", "agreed", "client_told"])
def test_a_referral_that_was_declined_answers_nothing(part: str) -> None:
    referral = {
        "to": "ENT",
        "urgency": "immediate",
        "reason": "loss",
        "ear": "left",
        part: "The client declined referral.",
    }
    (alert,) = open_flags(_visit(referral={**referral, part: "The client declined referral."}), [_found(_rule())])
    assert (alert.answered, alert.slower) == ("", False)
