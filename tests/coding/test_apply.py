"""Coding a visit: what gets which codes, and what must never happen."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bridge.coding import TermMaps, code_visit, load_term_maps
from bridge.fhir.systems import OWN, SCT
from bridge.phrases.tables import qualifiers
from bridge.visit import Term, Visit, terms_of

MAPS = load_term_maps()
DENY = [q.words for q in qualifiers() if q.assertion == "absent" and q.position != "after"]
DOUBT = [q.words for q in qualifiers() if q.assertion == "suspected" and q.position != "after"]
PAST = [q.words for q in qualifiers() if q.assertion == "past" and q.position != "after"]


def visit(**fields: Any) -> Visit:
    return Visit.model_validate(
        {"number": "V1", "start": "2026-03-02", "client": {"legal_name": {"family": "Test"}}, **fields}
    )


def term(words: Any, field: str = "drum") -> Term:
    coded, _ = code_visit(visit(right={"before": {field: [words]}}), MAPS)
    return dict(terms_of(coded))[f"right.before.{field}.findings[0].term"]


def codes(found: Term) -> list[tuple[str, str]]:
    return [(coding.system, coding.code) for coding in found.codings]


def test_a_stated_finding_gets_the_verified_code_first_and_the_own_code_last() -> None:
    found = term("Perf")
    assert found.text == "Perf"
    assert found.assertion == "present"
    assert codes(found) == [(SCT, "60442001"), (OWN, "drum-perforation")]
    assert found.codings[0].display == "Perforation of tympanic membrane"


@pytest.mark.parametrize(
    ("words", "assertion"),
    [("?perf", "suspected"), ("no perforation", "absent"), ("old perf", "past"), ("perforation: none", "absent")],
)
def test_a_finding_that_is_not_stated_gets_the_own_code_alone(words: str, assertion: str) -> None:
    found = term(words)
    assert (found.text, found.assertion) == (words, assertion)
    assert codes(found) == [(OWN, "drum-perforation")]


def test_an_impression_keeps_its_codes_whatever_its_certainty() -> None:
    coded, issues = code_visit(visit(right={"impressions": ["?cholesteatoma", "no cholesteatoma"]}), MAPS)
    first, second = (found for _, found in terms_of(coded))
    assert codes(first) == codes(second) == [(SCT, "363668000"), (OWN, "cholesteatoma")]
    assert (first.assertion, second.assertion) == ("suspected", "absent")
    assert issues == []


def test_history_is_past_unless_the_record_says_otherwise() -> None:
    coded, _ = code_visit(
        visit(right={"history": ["grommets", {"term": {"text": "perforation", "assertion": "present"}}, "?perf"]}), MAPS
    )
    assert [found.assertion for _, found in terms_of(coded)] == ["past", "present", "suspected"]


def test_what_the_record_says_of_a_plain_word_stands() -> None:
    found = term({"term": {"text": "perforation", "assertion": "absent"}})
    assert found.assertion == "absent"
    assert codes(found) == [(OWN, "drum-perforation")]


def test_a_term_with_codes_is_left_alone() -> None:
    given = {"text": "?perf", "codings": [{"system": "http://example.org/codes", "code": "7"}]}
    found = term({"term": given})
    assert codes(found) == [("http://example.org/codes", "7")]
    assert found.assertion is None


def test_plain_answers_have_no_assertion() -> None:
    coded, issues = code_visit(visit(right={"before": {"wax": {"amount": "no wax", "colour": ["dk brn"]}}}), MAPS)
    amount, colour = (found for _, found in terms_of(coded))
    assert codes(amount) == [(SCT, "2667000"), (OWN, "wax-none")]
    assert codes(colour) == [(SCT, "371254008"), (OWN, "wax-colour-dark-brown")]
    assert (amount.assertion, colour.assertion, issues) == (None, None, [])


@pytest.mark.parametrize(
    ("words", "concept"),
    [("+", "wax-small"), ("++", "wax-moderate"), ("+++", "wax-heavy"), ("wax+++", "wax-heavy"),
     ("mild wax", "wax-small"), ("Heavy wax", "wax-heavy"),
     ("nil", "wax-none"), ("impacted", "wax-impacted"), ("TO", "wax-occluding")],
)  # fmt: skip
def test_amounts_of_wax(words: str, concept: str) -> None:
    coded, issues = code_visit(visit(left={"before": {"wax": words}}), MAPS)
    [(_, found)] = terms_of(coded)
    assert codes(found)[-1] == (OWN, concept)
    assert issues == []


def test_the_same_word_has_one_cause_wherever_it_stands() -> None:
    right = {"before": {"wax": "impactd"}, "after": {"wax": "Impactd"}}
    _, issues = code_visit(visit(right=right, left={"before": {"wax": "impactd"}}), MAPS)
    assert len(issues) == 3
    assert {found.cause for found in issues} == {"wax-amount:impactd"}


def test_a_long_text_is_cut_in_messages() -> None:
    _, [issue] = code_visit(visit(right={"before": {"wax": "x" * 200}}), MAPS)
    assert "x" * 61 not in issue.message


KNOWN = [
    (kind, word)
    for kind, field in (("drum", "drum"), ("canal", "canal"), ("contents", "contents"))
    for word in MAPS.words[kind]
]


@given(st.sampled_from(KNOWN), st.sampled_from(DENY + DOUBT + PAST))
def test_no_denied_or_doubted_finding_gets_an_outside_code(known: tuple[str, str], qualifier: str) -> None:
    """Whatever known word is denied, doubted or called past: no code of another system goes out for it."""
    field, word = known
    if MAPS.find(field, f"{qualifier} {word}"):
        return  # a word of its own ("no abnormality"), held apart by the test of the tables
    found = term(f"{qualifier} {word}", field)
    assert found.assertion != "present" or found.codings == ()
    assert all(coding.system == OWN for coding in found.codings)
    assert found.text == f"{qualifier} {word}".strip()


@given(st.sampled_from(KNOWN), st.sampled_from([str.upper, str.title]), st.sampled_from(["", ".", " ", "!"]))
def test_case_and_punctuation_do_not_matter(known: tuple[str, str], change: Any, end: str) -> None:
    kind, word = known
    assert MAPS.find(kind, change(word) + end) is MAPS.find(kind, word)


@given(st.text(min_size=1, max_size=100).filter(lambda t: t.strip() and all(ord(c) > 31 for c in t)))
def test_any_words_survive(words: str) -> None:
    coded, _ = code_visit(visit(right={"before": {"drum": {"findings": [words]}, "wax": {"amount": words}}}), MAPS)
    assert {found.text for _, found in terms_of(coded)} == {words.strip()}


def full_visit() -> Visit:
    ear = {
        "symptoms": ["blocked", "tinnitus"],
        "history": ["grommets"],
        "before": {"view": "full", "wax": {"amount": "++", "consistency": ["hard"], "colour": ["dk brn"]},
                   "canal": ["narrow", "no exostoses"], "drum": ["?perf", "dull"], "contents": ["debris"]},
        "work": [{"method": "MS", "instruments": ["JH probe", "croc"], "tolerance": "well", "outcome": "complete",
                  "events": ["cough"]}],
        "after": {"view": "full", "wax": "none", "drum": "normal"},
        "impressions": ["impacted wax"],
    }  # fmt: skip
    return visit(reasons=["blocked ear"], cautions=["warfarin"], softeners=["olive oil"], right=ear, left=ear)


def test_a_full_visit_is_coded_without_a_doubt() -> None:
    assert code_visit(full_visit(), MAPS)[1] == []


def test_the_memo_stays_small() -> None:
    maps = TermMaps(MAPS.kinds, MAPS.concepts, MAPS.words)
    for number in range(300):
        code_visit(visit(right={"before": {"wax": f"n{number}"}}), maps)
    assert 0 < len(maps.memo) <= 20_000


@pytest.mark.parametrize("words", ["normal", "NAD", "no abnormality detected", "none", "clear", "ears normal", "ok"])
def test_an_impression_of_nothing_is_told_apart_from_every_disorder(words: str) -> None:
    coded, issues = code_visit(visit(left={"impressions": [words]}), MAPS)
    [(_, found)] = terms_of(coded)
    assert codes(found) == [(OWN, "impression-none")]
    assert issues == []
