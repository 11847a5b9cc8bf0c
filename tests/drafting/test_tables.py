"""The tables of drafting hold to the visit's fields, to their answers, and to what a layout may say."""

from __future__ import annotations

import pytest

from bridge.data import load_csv, table_path
from bridge.drafting.by_cells import sided
from bridge.drafting.fits import TESTS
from bridge.drafting.shapes import IGNORE
from bridge.drafting.tables import LANGUAGES, cell_key, heading_words
from bridge.layout import find_field
from bridge.layout.targets import meanings
from bridge.visit.ear import Drum, View, Wax

HEADINGS = list(load_csv(table_path("words", "headings.csv")))
WORDS = list(load_csv(table_path("words", "headings-words.csv")))
OTHER_NEEDS = {"form", "", "ask", "national", "choice", "doctor", "which-number", "given-or-name"}


def test_every_field_is_one_of_a_visit() -> None:
    fields = {f for row in HEADINGS for f in row["field"].split()} - {IGNORE, "ear"}
    assert [f for f in sorted(fields) if find_field(sided(f), "visit") is None] == []


def test_every_need_is_looked_at_and_every_test_is_needed() -> None:
    needs = {row["needs"] for row in HEADINGS}
    assert needs == {*TESTS, *OTHER_NEEDS}


def test_a_heading_with_several_fields_is_asked() -> None:
    several = {row["needs"] for row in HEADINGS if " " in row["field"]}
    assert several <= {"ask", "which-number"}


def test_fields_have_plain_names() -> None:
    named = {row["field"] for row in load_csv(table_path("words", "field-names.csv"))}
    import re

    used = {re.sub(r"\[\d+\]", "", f) for row in HEADINGS for f in row["field"].split()}
    assert used - named == set()


@pytest.mark.parametrize("row", WORDS, ids=lambda r: f"{r['field']}-{r['means']}-{r['language']}")
def test_words_mean_answers_of_their_field(row: dict[str, str]) -> None:
    assert row["language"] in ("", *LANGUAGES)
    allowed: set[str] = {"ask", "own"}
    models = {"part": Drum, "wax": Wax, "view": View}
    if row["field"] in models:
        allowed |= {"part": {"normal", "not seen", "not examined"}, "wax": {"not seen", "not examined"},
                    "view": {"full", "partial", "none", "not seen", "not examined"}}[row["field"]]  # fmt: skip
    elif row["field"] in ("yes-no", "side"):
        allowed |= {"yes", "no"} if row["field"] == "yes-no" else {"right", "left", "both"}
    elif row["field"] != "title":
        path = {"nhs_number_status": "client.nhs_number_status", "drum.seen": "right.before.drum.seen",
                "rinne": "right.hearing_before.rinne"}.get(row["field"], row["field"])  # fmt: skip
        field = find_field(path, "visit")
        assert field is not None
        allowed |= set(meanings(field) or ())
    assert row["means"] in allowed


def test_a_word_has_one_meaning_in_a_field_and_a_language() -> None:
    found: dict[tuple[str, str, str], str] = {}
    for row in WORDS:
        for word in row["words"].split("|"):
            key = (row["field"], row["language"], cell_key(word))
            assert found.setdefault(key, row["means"]) == row["means"], key


@pytest.mark.parametrize("word", ["ok", "-", "0", "nil", "n", "x", "1", "fine", "clear"])
def test_loose_words_are_never_normal(word: str) -> None:
    means = {
        row["means"]
        for row in WORDS
        if row["field"] == "part"
        for w in row["words"].split("|")
        if cell_key(w) == cell_key(word)
    }
    assert means <= {"ask"}


@pytest.mark.parametrize("word", ["ok", "-", "0", "nil", "1", "x", "signed", "verbal", "not given", "n/a"])
def test_loose_words_are_no_consent(word: str) -> None:
    fields = ("consent.status", "sharing.status")
    assert not [r for r in WORDS if r["field"] in fields and cell_key(word) in map(cell_key, r["words"].split("|"))]


def test_letters_for_sides_agree_over_all_languages() -> None:
    """R, D, H, P and the like may mean right in one language only if they never mean left in another."""
    found: dict[str, set[str]] = {}
    for row in WORDS:
        if row["field"] == "side":
            for word in row["words"].split("|"):
                found.setdefault(cell_key(word), set()).add(row["means"])
    assert {word for word, means in found.items() if {"right", "left"} <= means} == set()


def test_table_has_many_headings() -> None:
    assert len(heading_words()) > 2500
