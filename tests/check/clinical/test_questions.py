"""The kinds of questions, each with answers yes, no and not known.

Expectations follow from what a record says, and from the calendar (Python's datetime) for spans of time.
"""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.check.clinical.answers import all_of, any_of, negated
from bridge.check.clinical.compile_question import Making, compile_question
from bridge.check.clinical.context import Context
from bridge.check.clinical.faults import Faults
from bridge.check.clinical.fields import items, values
from bridge.check.clinical.load import library
from bridge.check.clinical.moments_between import age, before, longer_ago, surely_later, within
from bridge.check.clinical.question import Question
from tests.check.clinical.test_cases import visit_of

HOLE = {"in": ["ear.before.drum.findings"], "mean": ["drum-perforation"]}
NORMAL = {"no": [{"answer": "ear.before.drum", "is": "normal"}, {"in": HOLE["in"], "mean": ["drum-intact"]}]}
INFECTION = {"in": ["ear.history"], "mean": ["past-ear-infection"], "past": "yes", "dated": ["ended", "date"]}
SIX_WEEKS = {**INFECTION, "within": {"weeks": 6}}


def question(**spec: Any) -> Question:
    faults = Faults(Path("questions.yaml"))
    made = compile_question("q", {"asks": "what is asked", **spec}, Making(library().meanings, faults, "questions.q"))
    assert made is not None, faults._found
    return made


def ear(**right: Any) -> Context:
    return Context(visit_of({"right": {"note": "x", **right}})).at_ear("right")


def drum(*findings: Any) -> Context:
    return ear(before={"drum": list(findings)})


def had(**event: Any) -> Context:
    return ear(history=[{"term": "ear infection", **event}])


@pytest.mark.parametrize(
    ("spec", "context", "answer"),
    [
        ({"terms": HOLE}, drum("perforation"), True),
        ({"terms": HOLE}, drum("no perforation"), False),
        ({"terms": HOLE}, drum("?perforation"), None),
        ({"terms": {**HOLE, "suspected": "yes"}}, drum("?perforation"), True),
        ({"terms": {**HOLE, "suspected": "no"}}, drum("?perforation"), False),
        ({"terms": HOLE}, drum("dull"), None),
        ({"terms": HOLE}, ear(), None),
        ({"terms": HOLE}, ear(before={"drum": "normal"}), None),
        ({"terms": {**HOLE, **NORMAL}}, ear(before={"drum": "normal"}), False),
        ({"terms": {**HOLE, **NORMAL}}, ear(before={"drum": "not seen (wax)"}), None),
        ({"terms": {**HOLE, **NORMAL}}, drum("intact"), False),
        ({"terms": {**HOLE, **NORMAL}}, drum("intact", "perforation"), None),
        ({"terms": SIX_WEEKS}, had(date="2026-04-10"), True),
        ({"terms": SIX_WEEKS}, had(date="2026-03-22"), True),
        ({"terms": SIX_WEEKS}, had(date="2026-03-21"), False),
        ({"terms": SIX_WEEKS}, had(date="2026-03"), None),
        ({"terms": SIX_WEEKS}, had(date="2025"), False),
        ({"terms": SIX_WEEKS}, had(date="2026"), None),
        ({"terms": SIX_WEEKS}, had(), None),
        ({"terms": SIX_WEEKS}, had(date="2020", ended="2026-04-01"), True),
        ({"terms": SIX_WEEKS}, ear(history=["no ear infection"]), False),
        ({"terms": {**INFECTION, "longer_ago": {"years": 1}}}, had(date="2025-05-03"), True),
        ({"terms": {**INFECTION, "longer_ago": {"years": 1}}}, had(date="2025-05-04"), False),
        ({"number": "ear.before.wax.percent", "above": 50}, ear(before={"wax": {"percent": 51}}), True),
        ({"number": "ear.before.wax.percent", "above": 50}, ear(before={"wax": {"percent": 50}}), False),
        ({"number": "ear.before.wax.percent", "above": 50}, ear(before={"wax": "heavy"}), None),
        (
            {"number": "ear.work.suction.pressure", "unit": "mm[Hg]", "above": 300},
            ear(work=[{"method": "suction", "suction": {"pressure": {"value": "41", "unit": "kPa"}}}]),
            True,
        ),
        (
            {"number": "ear.work.suction.pressure", "unit": "mm[Hg]", "above": 300},
            ear(work=[{"method": "suction", "suction": {"pressure": {"value": "39", "unit": "kPa"}}}]),
            False,
        ),
        (
            {"number": "ear.work.suction.pressure", "unit": "mm[Hg]", "above": 300},
            ear(work=[{"method": "suction", "suction": {"pressure": {"value": "39", "unit": "mm"}}}]),
            None,
        ),
        (
            {"number": "ear.work.instruments.size", "scale": "mm", "at_least": 2},
            ear(work=[{"method": "suction", "instruments": [{"name": "tube", "size": {"value": "6", "scale": "Fr"}}]}]),
            True,
        ),
        (
            {"number": "ear.work.instruments.size", "scale": "mm", "at_least": 2},
            ear(work=[{"method": "suction", "instruments": [{"name": "tube", "size": {"value": "18", "scale": "G"}}]}]),
            None,
        ),
        ({"choice": "ear.before.view.achieved", "is": ["none"]}, ear(before={"view": "none"}), True),
        ({"choice": "ear.before.view.achieved", "is": ["none"]}, ear(before={"view": "full"}), False),
        ({"choice": "ear.before.view.achieved", "is": ["none"]}, ear(), None),
        (
            {"later": ["ear.symptoms.onset", "visit.start"]},
            ear(symptoms=[{"term": "pain", "onset": "2026-05-04"}]),
            True,
        ),
        (
            {"later": ["ear.symptoms.onset", "visit.start"]},
            ear(symptoms=[{"term": "pain", "onset": "2026-05-03"}]),
            None,
        ),
        (
            {"later": ["ear.symptoms.onset", "visit.start"]},
            ear(symptoms=[{"term": "pain", "onset": "2026-05-02"}]),
            False,
        ),
        ({"later": ["ear.symptoms.onset", "visit.start"]}, ear(symptoms=["pain"]), None),
        (
            {"more": ["ear.after.wax.percent", "ear.before.wax.percent"]},
            ear(before={"wax": {"percent": 10}}, after={"wax": {"percent": 20}}),
            True,
        ),
        ({"more": ["ear.after.wax.percent", "ear.before.wax.percent"]}, ear(before={"wax": {"percent": 10}}), None),
        ({"age": {"at_least": 76}}, ear(), True),
        ({"age": {"at_least": 77}}, ear(), False),
        ({"age": {"below": 76}}, ear(), False),
        ({"count": "ear.symptoms", "at_least": 2}, ear(symptoms=["pain", "itch"]), True),
        ({"count": "ear.symptoms", "at_least": 2}, ear(symptoms=["pain"]), False),
        ({"count": "ear.symptoms", "at_least": 2}, ear(), None),
        ({"recorded": ["ear.symptoms"]}, ear(), False),
        ({"recorded": ["ear.note"]}, ear(note="--"), False),
        ({"recorded": ["ear.note"]}, ear(note="N/A"), False),
        ({"recorded": ["ear.note"]}, ear(note="none"), True),
        ({"recorded": ["visit.start"]}, ear(), True),
        ({"recorded": ["ear.symptoms", "ear.note"]}, ear(), True),
        ({"recorded": ["ear.symptoms", "ear.note"], "all": True}, ear(), False),
        ({"words": ["ear.note"], "any": ["sore"]}, ear(note="A bit sore."), True),
        ({"words": ["ear.note"], "any": ["sore"]}, ear(note="Not sore at all."), False),
        ({"words": ["ear.note"], "any": ["sore"]}, ear(note="Soreness."), False),
    ],
)
def test_answers(spec: dict[str, Any], context: Context, answer: bool | None) -> None:
    assert question(**spec).answer(context) is answer


def test_an_answer_is_kept_where_it_belongs() -> None:
    asked = question(terms=HOLE)
    whole = Context(visit_of({"right": {"before": {"drum": ["perforation"]}}, "left": {"before": {"drum": "normal"}}}))
    right, left = whole.at_ear("right"), whole.at_ear("left")
    assert (asked.answer(right), asked.answer(left)) == (True, None)
    assert (asked.place(right), asked.place(left)) == ("right.before.drum.findings", "left.before.drum.findings")
    assert asked.showing(right) == "perforation"


def test_items_know_their_path_and_work() -> None:
    visit = visit_of(
        {"left": {"work": [{"method": "suction"}, {"method": "irrigation", "products": ["water", "saline"]}]}}
    )
    found = list(items("ear.work.products", Context(visit).at_ear("left")))
    assert [one.path for one in found] == ["left.work[1].products[0]", "left.work[1].products[1]"]
    assert [one.work_path for one in found] == ["left.work[1]"] * 2
    assert [v.text for v in values("work.method", found[0])] == ["irrigation"]


days = st.dates(date(1990, 1, 1), date(2040, 12, 31))


@given(days, days, st.integers(0, 800))
def test_windows_of_days_against_the_calendar(moment: date, start: date, length: int) -> None:
    assert within(moment.isoformat(), start.isoformat(), {"days": length}) is (start - moment <= timedelta(length))
    assert longer_ago(moment.isoformat(), start.isoformat(), {"days": length}) is (start - moment >= timedelta(length))
    assert surely_later(start.isoformat(), moment.isoformat(), length) is (start - moment > timedelta(length))


@given(days, days, st.integers(0, 100), st.sampled_from([4, 7]))
def test_a_partial_moment_is_decided_only_where_all_its_days_agree(
    moment: date, start: date, length: int, size: int
) -> None:
    part = moment.isoformat()[:size]
    first = date(moment.year, 1 if size == 4 else moment.month, 1)
    of_it = [d for n in range(366) if (d := first + timedelta(n)).isoformat()[:size] == part]
    for function in (within, longer_ago):
        each = {function(day.isoformat(), start.isoformat(), {"days": length}) for day in (of_it[0], of_it[-1])}
        assert function(part, start.isoformat(), {"days": length}) is (each.pop() if len(each) == 1 else None)


@pytest.mark.parametrize(
    ("day", "length", "expected"),
    [
        ("2026-05-31", {"months": 3}, "2026-02-28"),
        ("2024-05-31", {"months": 3}, "2024-02-29"),
        ("2026-01-15", {"months": 13}, "2024-12-15"),
        ("2024-02-29", {"years": 1}, "2023-02-28"),
        ("2026-05-03", {"weeks": 6}, "2026-03-22"),
    ],
)
def test_months_end_with_the_shorter_one(day: str, length: dict[str, int], expected: str) -> None:
    assert before(date.fromisoformat(day), length) == date.fromisoformat(expected)


def test_age_of_a_partial_birth_date() -> None:
    assert age("2010", "2026-05-03") == (15, 16)
    assert age("2010-05", "2026-05-03") == (15, 16)
    assert age("2010-05-03", "2026-05-03") == (16, 16)
    assert age("2010-05-04", "2026-05-03T10:00+01:00") == (15, 15)


def test_kleene() -> None:
    """The truth tables of Kleene's strong logic, written out."""
    table = {
        (True, True): (True, True),
        (True, None): (None, True),
        (True, False): (False, True),
        (None, None): (None, None),
        (None, False): (False, None),
        (False, False): (False, False),
    }
    for (one, other), (both, either) in table.items():
        for pair in ((one, other), (other, one)):
            assert all_of(pair) is both
            assert any_of(pair) is either
    assert [negated(answer) for answer in (True, None, False)] == [False, None, True]


STATED = {"in": ["ear.before.drum.findings"], "mean": ["drum-perforation"], "normal": ["ear.before.drum"]}
OUTCOME = {"in": ["ear.work.outcome"], "mean": ["outcome-stopped"]}


@pytest.mark.parametrize(
    ("spec", "context", "answer"),
    [
        ({"stated": STATED}, drum("perforation"), True),
        ({"stated": STATED}, drum("no perforation"), False),
        ({"stated": STATED}, drum("?perforation"), None),
        ({"stated": {**STATED, "suspected": "yes"}}, drum("?perforation"), True),
        ({"stated": {**STATED, "suspected": "no"}}, drum("?perforation"), False),
        ({"stated": STATED}, drum("dull"), False),
        ({"stated": STATED}, ear(), False),
        ({"stated": STATED}, ear(before={"drum": "normal"}), True),
        ({"meaning": OUTCOME}, ear(work=[{"method": "suction", "outcome": "stopped"}]), True),
        ({"meaning": OUTCOME}, ear(work=[{"method": "suction", "outcome": "complete"}]), False),
        ({"meaning": OUTCOME}, ear(work=[{"method": "suction", "outcome": "clarty"}]), None),
        ({"meaning": OUTCOME}, ear(work=[{"method": "suction"}]), None),
        ({"meaning": OUTCOME}, ear(), None),
    ],
)
def test_what_is_stated_and_what_it_means(spec: dict[str, Any], context: Context, answer: bool | None) -> None:
    assert question(**spec).answer(context) is answer


@pytest.mark.parametrize("kind", ["terms", "stated", "meaning"])
def test_a_message_names_a_meaning_in_our_own_word_and_not_as_the_record_does(kind: str) -> None:
    visit = visit_of({"cautions": ["anticoagulant"]})
    (caution,) = visit.cautions
    codings = tuple(c.model_copy(update={"display": "Ida Rowe"}) for c in caution.term.codings)
    term = caution.term.model_copy(update={"codings": codings, "text": "Ida Rowe"})
    visit = visit.model_copy(update={"cautions": (caution.model_copy(update={"term": term}),)})
    spec: dict[str, Any] = {kind: {"in": ["visit.cautions"], "mean": ["caution-anticoagulant"]}}
    made = question(**spec)
    assert made.answer(Context(visit)) is True
    assert made.showing(Context(visit)) == "anticoagulant treatment"
