"""Short phrases and running text, from a table of sentences and from whatever hypothesis thinks of.

The sentences and what they must give were written from common practice of the trade, apart from the word lists.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from bridge.data import load_csv, table_path
from bridge.ear_words import EARS
from bridge.phrases import Phrase, ambiguous_words, interval, parse_phrase, qualifier, side_words, watched_words
from bridge.phrases.tables import amounts, qualifiers, role, sides

CASES: dict[str, list[Any]] = yaml.safe_load((Path(__file__).parent / "cases" / "phrases.yaml").read_text("utf-8"))


@pytest.mark.parametrize(("text", "said"), CASES["phrases"])
def test_a_short_phrase_gives_its_parts(text: str, said: dict[str, Any]) -> None:
    expected = Phrase(tuple(said.get("ears", ())), said.get("said"), said["term"], said.get("amount", ""))
    assert parse_phrase(text) == expected


@pytest.mark.parametrize("text", CASES["notes"])
def test_what_says_more_stays_a_note(text: str) -> None:
    assert parse_phrase(text) is None


@pytest.mark.parametrize(("text", "words"), CASES["watched"])
def test_a_note_tells_what_must_not_be_lost(text: str, words: list[str]) -> None:
    assert watched_words(text) == words


@pytest.mark.parametrize(("text", "ears"), CASES["sides"])
def test_running_text_names_ears(text: str, ears: list[str]) -> None:
    assert side_words(text) == set(ears)


@pytest.mark.parametrize("text", ["gehört", "im linken Ohr gehört", "Hört schlecht", "Überlt", "éR", "naïvert"])
def test_the_end_of_a_word_of_other_letters_names_no_side(text: str) -> None:
    assert side_words(text) == set()


@pytest.mark.parametrize(("text", "words"), CASES["ambiguous"])
def test_shorthand_with_two_readings_is_told(text: str, words: list[str]) -> None:
    assert [word for word, _ in ambiguous_words(text)] == words
    assert all(reason for _, reason in ambiguous_words(text))


@pytest.mark.parametrize(("text", "found"), CASES["intervals"])
def test_intervals(text: str, found: list[Any] | None) -> None:
    assert interval(text) == (tuple(found) if found else None)


PLAIN = st.sampled_from(["perforation", "perf", "discharge", "cholesteatoma", "pain", "granulation", "grommet", "wax"])
DENY = st.sampled_from([q.words for q in qualifiers() if q.position != "after" and q.assertion == "absent"])
DOUBT = st.sampled_from([q.words for q in qualifiers() if q.position != "after" and q.assertion == "suspected"])
PAST = st.sampled_from([q.words for q in qualifiers() if q.position != "after" and q.assertion == "past"])
SIDES = st.sampled_from(sides())


@given(SIDES, PLAIN)
def test_every_side_word_before_every_term(side: Any, term: str) -> None:
    phrase = parse_phrase(f"{side.word} {term}")
    assert phrase == Phrase(side.ears, None, term, "")


@given(DENY, PLAIN)
def test_a_denied_term_is_never_stated(words: str, term: str) -> None:
    phrase = parse_phrase(f"{words} {term}")
    assert phrase is None or phrase == Phrase((), "absent", term, "")


@given(DOUBT, PLAIN)
def test_a_doubted_term_is_never_stated(words: str, term: str) -> None:
    phrase = parse_phrase(f"{words} {term}")
    assert phrase == Phrase((), "suspected", term, "")


@given(PAST, PLAIN)
def test_a_past_term_is_never_stated(words: str, term: str) -> None:
    phrase = parse_phrase(f"{words} {term}")
    assert phrase == Phrase((), "past", term, "")


@given(st.sampled_from(["no", "?", "old", "denies", "query", "h/o"]), st.sampled_from(["no", "?", "old", "nil"]), PLAIN)
def test_two_qualifiers_are_never_read_as_one(first: str, second: str, term: str) -> None:
    assert parse_phrase(f"{first} {second} {term}") is None or (first, second) == ("?", "?")


@given(PLAIN, PLAIN, st.sampled_from([" and ", ", ", "; ", ". ", " but ", " with ", "\n", " + ", " & "]))
def test_two_statements_are_longer_than_a_phrase(one: str, two: str, joint: str) -> None:
    assert parse_phrase(f"no {one}{joint}{two}") is None
    assert parse_phrase(f"{one}{joint}{two}") is None


@given(st.text(max_size=120))
def test_any_text_is_survived(text: str) -> None:
    phrase = parse_phrase(text)
    if phrase is not None:
        assert phrase.term.strip()
        assert set(phrase.ears) <= set(EARS)
    assert side_words(text) <= set(EARS)
    watched_words(text)
    ambiguous_words(text)
    interval(text)
    qualifier(text)


MIXED = st.sampled_from(sorted(role("clause") | role("bare") | {"no", "?", "R", "left", "perf", "wax"}))


@given(st.lists(MIXED, max_size=6))
def test_a_denial_anywhere_is_never_dropped(words: list[str]) -> None:
    """Whatever stands around them: a phrase of words with a denial or a doubt among them never comes out as stated."""
    text = " ".join(words)
    phrase = parse_phrase(text)
    if phrase is not None and phrase.assertion is None:
        assert not {"no", "?", "not", "nil", "none", "denies", "without"} & set(words)


@given(st.sampled_from(["right", "left"]), st.sampled_from(sorted(role("ear") - {"pars"})))
def test_a_side_before_a_word_of_the_ear_counts(side: str, noun: str) -> None:
    assert side_words(f"the {side} {noun} today") == {side}


@given(st.sampled_from(sorted(role("after-left") - role("elsewhere"))))
def test_left_as_a_verb_is_no_side(word: str) -> None:
    assert side_words(f"some wax left {word} today") == set()
    assert side_words(f"Left {word} today") == set()


@given(st.from_regex(r"[a-z]{2,8}", fullmatch=True))
def test_letters_inside_words_are_no_sides(word: str) -> None:
    if word not in {s.word for s in sides()}:
        assert side_words(f"some {word}R{word} and {word}L and x{word}") == set()


@given(st.integers(1, 28), st.integers(1, 12), st.integers(1990, 2040))
def test_a_date_is_no_interval(day: int, month: int, year: int) -> None:
    assert interval(f"{day}/{month}/{year}") is None
    assert interval(f"seen {month}/{day}/{year}") is None
    assert interval(f"{year}-{month:02}-{day:02}") is None


@given(st.integers(1, 99), st.sampled_from([("12", "mo"), ("52", "wk"), ("7", "d")]))
def test_slash_fractions_are_intervals(number: int, part: tuple[str, str]) -> None:
    assert interval(f"RTC {number}/{part[0]}") == (number, part[1])


def _rows(name: str) -> Iterator[dict[str, str]]:
    return load_csv(table_path("words", name))


def test_the_word_lists_hold_what_the_code_expects() -> None:
    assert {row["assertion"] for row in _rows("qualifiers.csv")} == {"absent", "suspected", "past"}
    assert {row["position"] for row in _rows("qualifiers.csv")} == {"before", "after", "either"}
    assert {row["ears"] for row in _rows("sides.csv")} == {"right", "left", "both"}
    assert {row["matched"] for row in _rows("watched.csv")} == {"exact", "fold", "start"}
    assert {row["about"] for row in _rows("ambiguous.csv")} == {"side", "diagnosis", "other"}
    for row in _rows("sides.csv"):
        if row["matched"] == "fold":
            assert row["word"] == row["word"].casefold()
    assert not {a for a in amounts() if a in role("clause")}


def test_no_refused_side_word_is_a_side_word() -> None:
    refused = {row["word"].casefold() for row in _rows("ambiguous.csv") if row["about"] == "side"}
    assert not refused & {side.word.casefold() for side in sides()}


@pytest.mark.parametrize("word", ["AD", "AS", "AU", "OD", "OS", "OU", "R/L", "ipsi", "contra", "unilateral", "U/L"])
def test_refused_side_words_name_no_ear(word: str) -> None:
    assert side_words(f"{word} ear wax") - {"right", "left"} == set()
    assert side_words(word) == set()
    assert parse_phrase(f"{word} perforation") is None
    assert [found for found, _ in ambiguous_words(f"perforation {word}")] == [word]
    assert re.search(r"\w", dict(ambiguous_words(word))[word])


@pytest.mark.parametrize(
    ("text", "ears", "assertion", "term"),
    [
        ("perf L", ("left",), None, "perf"),
        ("?perf (R)", ("right",), "suspected", "perf"),
        ("no perforation L", ("left",), "absent", "perforation"),
        ("impacted wax both", ("right", "left"), None, "impacted wax"),
        ("perforation left ear", ("left",), None, "perforation"),
    ],
)
def test_a_side_may_stand_behind(text: str, ears: tuple[str, ...], assertion: str | None, term: str) -> None:
    assert parse_phrase(text) == Phrase(ears, assertion, term, "")


@pytest.mark.parametrize("text", ["wax left", "wax in R", "R perf L", "R or L", "wax L>R", "2 L", "L"])
def test_what_looks_like_a_side_behind_is_none(text: str) -> None:
    assert parse_phrase(text) is None
