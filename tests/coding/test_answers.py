"""Words for nothing become the field's own answer, whatever form the record has."""

from __future__ import annotations

from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from bridge.coding import code_visit, load_term_maps
from bridge.data import load_csv, table_path
from bridge.nothing_words import answer_of, says_nothing
from bridge.read.visits import read_visits
from bridge.visit import Visit

MAPS = load_term_maps()
HEAD = "number: V1\nstart: 2026-03-02\nclient:\n  legal_name: {family: Testington}\n  birth_date: 1950-05-03\n"


def coded(**fields: Any) -> tuple[Visit, list[str]]:
    whole = {"number": "V1", "start": "2026-03-02", "client": {"legal_name": {"family": "Test"}}, **fields}
    visit, issues = code_visit(Visit.model_validate(whole), MAPS)
    return visit, [f"{i.rule} {i.where.path}" for i in issues]


def test_the_table_is_whole() -> None:
    answers: dict[str, set[str]] = {}
    words: list[tuple[str, str]] = []
    for row in load_csv(table_path("words", "nothing.csv")):
        answers.setdefault(row["field"], set()).add(row["answer"])
        words += [(row["field"], word) for word in row["words"].split("|")]
    assert answers == {
        "request": {"none"}, "allergies": {"none known", "ask"}, "medicines": {"none", "ask"}, "follow_up": {"none"},
        "advice": {"none"}, "method": {"ask", "none"}, "referral": {"none"}, "sharing_reason": {"none"},
        "not_referred": {"none"}, "text": {"none"}, "why": {"none"},
    }  # fmt: skip
    assert len(words) == len(set(words))
    assert all(answer_of(field, word) for field, word in words)


@pytest.mark.parametrize("words", ["none", "Nil", "n/a", "N/A.", "no action", "not needed", "Nothing required"])
def test_nothing_is_asked(words: str) -> None:
    visit, issues = coded(requests=[words])
    assert (visit.requests, visit.no_request, issues) == ((), True, [])


def test_nothing_beside_something_is_asked_about() -> None:
    visit, issues = coded(requests=["none", "please look at the ear"])
    assert (len(visit.requests), visit.no_request, issues) == (2, False, ["M108 requests[0].action"])
    _, issues = coded(allergies=["latex", "none"])
    assert issues == ["M108 allergies.items[1].term"]
    _, issues = coded(requests=[{"action": "nil", "reason": "perforation"}])
    assert issues == ["M108 requests[0].action"]


@pytest.mark.parametrize("words", ["nil", "none", "NKDA", "no known", "No known allergies.", "none known"])
def test_no_allergy_is_known(words: str) -> None:
    visit, issues = coded(allergies=[words])
    assert visit.allergies is not None
    assert (visit.allergies.answer, visit.allergies.items, issues) == ("none known", (), [])


@pytest.mark.parametrize("words", ["nil", "none", "no meds", "Nil reg"])
def test_no_medicine_is_taken(words: str) -> None:
    visit, issues = coded(medicines=[words])
    assert visit.medicines is not None
    assert (visit.medicines.answer, visit.medicines.items, issues) == ("none", (), [])


@pytest.mark.parametrize(
    ("words", "assertion"),
    [("warfarin", None), ("aspirin 75mg od", None), ("warfarin stopped", "past"), ("no longer on apixaban", "past"),
     ("came off warfarin", "past"), ("?warfarin", "suspected"), ("no aspirin", "absent"),
     ("aspirin 75mg - stopped", "past"),
     ("ramipril", None), ("warfarin (stopped)", "past"),
     ("previously on warfarin", "past"), ("ramipril 5 mg ceased", "past")],
)  # fmt: skip
def test_whether_a_medicine_is_taken(words: str, assertion: str | None) -> None:
    visit, issues = coded(medicines=[words])
    assert visit.medicines is not None
    assert (visit.medicines.items[0].name.assertion, visit.medicines.items[0].name.text) == (assertion, words)
    assert issues == []


def test_stopped_is_no_past_outcome_or_event() -> None:
    work = {"method": "microsuction", "outcome": "stopped", "tolerance": "stopped", "events": ["bleeding"]}
    visit, issues = coded(right={"work": [work]})
    assert visit.right is not None
    assert visit.right.work[0].outcome is not None
    assert visit.right.work[0].outcome.codings[-1].code == "outcome-stopped"
    assert issues == []


@pytest.mark.parametrize(
    "words", ["penicillin", "codeine", "allergic to penicillin", "penicillin (rash)", "sticking plaster", "E102"]
)
def test_a_substance_is_an_allergy(words: str) -> None:
    visit, issues = coded(allergies=[words])
    assert visit.allergies is not None
    assert (visit.allergies.items[0].term.text, issues) == (words, [])


@pytest.mark.parametrize("words", ["await swab", "same", "much the same as last time", "flurble"])
def test_an_unread_impression_is_not_confirmed(words: str) -> None:
    visit, _ = coded(right={"impressions": [words]})
    assert visit.right is not None
    assert visit.right.impressions[0].term.assertion is None


@pytest.mark.parametrize("words", ["exclude cholesteatoma", "r/o cholesteatoma", "?cholesteatoma", "?flurble"])
def test_what_is_to_be_excluded_is_suspected(words: str) -> None:
    visit, _ = coded(right={"impressions": [words]})
    assert visit.right is not None
    assert visit.right.impressions[0].term.assertion == "suspected"


@pytest.mark.parametrize("words", ["nothing of note", "ears clear", "normal", "no abnormality"])
def test_an_impression_of_nothing(words: str) -> None:
    visit, issues = coded(right={"impressions": [words]})
    assert visit.right is not None
    assert [c.code for c in visit.right.impressions[0].term.codings] == ["impression-none"]
    assert issues == []


@pytest.mark.parametrize(
    ("field", "words", "nothing"),
    [("follow_up", "none needed", True), ("follow_up", "No f/u", True), ("follow_up", "discharged", True),
     ("follow_up", "PRN", False), ("follow_up", "as needed", False), ("follow_up", "6/12", False),
     ("advice", "not given", True), ("advice", "keep dry", False), ("allergies", "n/k", False)],
)  # fmt: skip
def test_the_leaf_for_builders(field: str, words: str, nothing: bool) -> None:
    assert says_nothing(field, words) is nothing


@pytest.mark.parametrize(
    "text", ["requests: none", "requests: [no action]", "allergies: NKDA", "allergies: [nil]", "medicines: nil reg"]
)
def test_yaml_records_say_it_alike(text: str, tmp_path: Path) -> None:
    path = tmp_path / "record.yaml"
    path.write_text(f"{HEAD}{text}\n", encoding="utf-8")
    [reading] = read_visits(path, None, ZoneInfo("Europe/London"))
    assert reading.visit is not None, reading.issues
    visit, issues = code_visit(reading.visit, MAPS)
    assert issues == []
    answers = [visit.no_request or None, visit.allergies and visit.allergies.answer, visit.medicines]
    assert any(answers)
    assert not visit.requests


def test_an_open_answer_of_yaml_is_asked_about_at_its_place(tmp_path: Path) -> None:
    path = tmp_path / "record.yaml"
    path.write_text(f"{HEAD}allergies: n/k\n", encoding="utf-8")
    [reading] = read_visits(path, None, ZoneInfo("Europe/London"))
    assert reading.visit is not None, reading.issues
    _, [issue] = code_visit(reading.visit, MAPS)
    assert (issue.rule, reading.where_of(issue.where.path).row) == ("M108", 6)
