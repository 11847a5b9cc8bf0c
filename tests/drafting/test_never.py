"""A side, a consent and "normal" are proven or asked; what a draft writes always loads."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Sequence
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bridge.data import load_csv, table_path
from bridge.drafting import ASK, answer, layout_page, open_questions
from bridge.drafting.tables import cell_key, cell_meanings, heading_words
from tests.drafting.sheets import DATES, NAMES, beside, draft, load

LOOSE = ["ok", "-", "0", "nil", "x", "n/a"]


@pytest.mark.parametrize(
    "word", ["ok", "0", "nil", "x", "signed", "verbal", "n/a", "1", "✓", "letter sent", "not given"]
)
@pytest.mark.parametrize("heading", ["Consent to treat", "Consent to share"])
def test_a_loose_word_in_a_consent_is_asked(heading: str, word: str) -> None:
    guess = draft({heading: ["yes", word, "no", "yes"]}).guess_of(heading)
    assert guess.words[word] == ASK
    assert {w: m for w, m in guess.words.items() if m != ASK} == {"yes": "given", "no": "refused"}


@pytest.mark.parametrize("word", ["ok", "0", "nil", "fine", "clear", "n", "yes", "NS"])
def test_a_loose_word_in_a_drum_column_is_asked(word: str) -> None:
    guess = draft({"R drum": [word, "NAD", "UTV"], "L drum": ["NAD", "", ""]}).guess_of("R drum")
    assert guess.words == {word: ASK, "NAD": "normal", "UTV": "not seen"}


@pytest.mark.parametrize("heading", ["R drum", "Consent to share", "R before view"])
def test_a_dash_among_answers_is_asked_and_elsewhere_it_says_nothing(heading: str) -> None:
    words = {"R drum": "NAD", "Consent to share": "yes", "R before view": "full"}
    found = draft({heading: [words[heading], "-"], "L drum": ["", ""]})
    assert (found.blank_asked, found.blank_cells) == (["-"], [])
    plain = draft({"Town": ["Millbrook", "-"]})
    assert (plain.blank_asked, plain.blank_cells) == ([], ["-"])


def test_a_consent_in_free_text_is_one_question_and_no_list_of_cells() -> None:
    cells = [*["yes"] * 40, *(f"signed by Testington {n}" for n in range(30))]
    found = draft({"Consent to treat": cells})
    guess = found.guess_of("Consent to treat")
    assert (guess.field, guess.words) == (ASK, {})
    answer(found, next(q for q in open_questions(found) if q.about == "field"), "consent.status")
    assert len(guess.words) <= 13


def test_no_empty_cell_and_no_constant_ever_gets_a_meaning() -> None:
    found = beside(Consent_to_share=["yes", "", "no", ""], R_drum=["NAD", "", "", ""], L_drum=["", "", "", ""])
    page = layout_page(found)
    assert "constants" not in page
    assert not re.search(r"\bblank:", page)


@pytest.mark.parametrize(
    "heading",
    [
        "GP letter",
        "Consent",
        "Letter to GP",
        "Consnt to shar",
        "Happy to share?",
        "DNA",
        "GP ok?",
        "Cons.",
        "Consent to share (not GP)",
        "No consent to share",
        "Consent to share: opt out",
        "Refused sharing",
        "Consent letter",
        "Consent info",
        "Consent GP records",
        "Consent for photos",
        "Consent to share photos",
        "Consent to treat child",
        "Consent to treatment withdrawn",
        "Treatment consent form signed",
        "Agreed plan with GP",
        "Agreed to pay for treatment",
        "Consent to share data with insurer",
        "Permission to leave message",
        "GP informed",
        "Letter sent to GP by post?",
        "May we call",
        "OK with doctor",
        "No treatment consent",
        "Share with family",
        "Consent to share with ENT",
    ],
)
def test_a_heading_that_could_be_another_consent_is_asked(heading: str) -> None:
    assert beside(**{heading: ["Y", "N", "Y", "Y"]}).guess_of(heading).field == ASK


@pytest.mark.parametrize(
    ("beside_it", "heading", "cells"),
    [
        (("Data di nascita", "Cognome"), "Consenso medico", "sì no"),
        (("Fecha de nacimiento", "Apellidos"), "Consentimiento médico", "sí no"),
        (("Geburtsdatum", "Nachname"), "Einwilligungsschreiben", "ja nein"),
        (("Geburtsdatum", "Nachname"), "Keine Einwilligung Behandlung", "ja nein"),
        (("Data urodzenia", "Nazwisko"), "Zgoda RODO", "tak nie"),
        (("Date de naissance", "Nom de famille"), "Accord mutuelle", "oui non"),
        (("Date de naissance", "Nom de famille"), "Refus de courrier au médecin", "oui non"),
        (("Geboortedatum", "Achternaam"), "Huisarts geïnformeerd", "ja nee"),
        (("Födelsedatum", "Efternamn"), "Samtycke GDPR", "ja nej"),
        (("Data de nascimento", "Apelido"), "Sem consentimento tratamento", "sim não"),
    ],
)
def test_such_headings_are_asked_in_other_languages(beside_it: tuple[str, str], heading: str, cells: str) -> None:
    found = draft({beside_it[0]: DATES, beside_it[1]: NAMES, heading: cells.split() * 2})
    assert found.language != "en"
    assert found.guess_of(heading).field == ASK


@pytest.mark.parametrize("heading", ["GP surgery", "Health centre", "Own doctor"])
def test_yes_and_no_are_no_surgery(heading: str) -> None:
    guess = beside(**{heading: ["yes", "no", "yes", "yes"]}).guess_of(heading)
    assert (guess.field, guess.options[0]) == (ASK, "sharing.status")


def test_names_are_no_consent_to_a_letter() -> None:
    names = ["Millbrook Surgery", "Harrow Lane Practice", "Eastwick Medical", "Millbrook Surgery"]
    guess = beside(**{"Letter to GP": names}).guess_of("Letter to GP")
    assert (guess.field, guess.options[0]) == (ASK, "family_doctor")


@pytest.mark.parametrize("heading", ["Consent form", "Form of consent"])
def test_answers_are_no_form_of_consent(heading: str) -> None:
    guess = beside(**{heading: ["yes", "no", "yes", "given"]}).guess_of(heading)
    assert guess.field == ASK
    assert {"consent.status", "sharing.status", "consent.form"} <= set(guess.options)


@pytest.mark.parametrize("heading", ["Invoice remarks", "Room", "Device"])
def test_no_column_of_the_trade_is_left_out(heading: str) -> None:
    cells = ["microsuction", "irrigation", "curette", "microsuction"]
    guess = beside(**{heading: cells}).guess_of(heading)
    assert guess.field == ASK
    assert any(f.endswith("work.method") for f in guess.options)


@pytest.mark.parametrize(("heading", "field"), [("GP letter", "sharing.status"), ("DNA", "attendance")])
def test_yes_and_no_are_asked_where_a_person_named_the_column(heading: str, field: str) -> None:
    """A column “No letter” or “DNA” turns yes and no round; only whoever made it knows."""
    found = beside(**{heading: ["Y", "N", "Y", "Y"]})
    question = next(q for q in open_questions(found) if q.heading == heading)
    answer(found, question, field)
    assert found.guess_of(heading).words == {"Y": ASK, "N": ASK}


def test_a_mixed_side_word_is_asked() -> None:
    found = draft({"Date": ["14/05/2026"] * 6, "Ear": ["R", "L", "R", "R/L", "AD", "both"], "Wax": ["heavy"] * 6})
    assert found.rows == "ear"
    assert found.guess_of("Ear").words == {"R": "right", "L": "left", "R/L": ASK, "AD": ASK}


def test_a_column_without_an_ear_in_a_sheet_of_visits_is_asked() -> None:
    found = beside(R_wax=["heavy"] * 4, L_wax=["heavy"] * 4, Method=["microsuction"] * 4)
    guess = found.guess_of("Method")
    assert guess.field == ASK
    assert {"right.work.method", "left.work.method"} <= set(guess.options)


def test_a_drum_column_behind_the_work_is_asked_before_or_after() -> None:
    found = beside(R_method=["microsuction"] * 4, R_drum=["NAD"] * 4, L_method=["microsuction"] * 4, L_drum=["NAD"] * 4)
    assert found.guess_of("R drum").options[:2] == ["right.before.drum", "right.after.drum"]


def test_latin_marks_are_asked_once_for_all() -> None:
    found = beside(AD_wax=["heavy"] * 4, AS_wax=["mild"] * 4)
    assert found.guess_of("AD wax").field == ASK
    first = open_questions(found)[0]
    assert first.about == "marks"
    assert [g.field for g in answer(found, first, "yes").guesses[2:]] == ["right.before.wax", "left.before.wax"]
    assert answer(found, first, "no").guess_of("AD wax").field == ASK


_CELL = st.one_of(
    st.sampled_from([
        "yes", "no", "ja", "NAD", "UTV", "ok", "-", "", "R", "L", "both", "AD", "heavy", "14/05/2026", "03/04/05",
        "2026-05-03", "10:15", "80%", "0.8", "5 Fr", "120", "Smith, Ann", "Ann Smith", "999 000 0018", "microsuction",
        "=1+1", "normal", "o.B.", "sí", "x", "impacted; hard", "a, b", "#N/A", "{ask}", "ask", "null", "~", "'", '"',
    ]),
    st.text(max_size=12),
)  # fmt: skip
_HEADINGS = sorted(" ".join(key) for key in heading_words())
_WORDS = sorted({row_word for row in load_csv(table_path("words", "headings-pieces.csv")) for row_word in
                 row["words"].split("|")})  # fmt: skip
_MADE = st.lists(st.sampled_from(_WORDS), min_size=1, max_size=4).map(" ".join)
_SIDES = ["", "R ", "L ", "Right ear / ", "Left ear / ", "AD ", "re "]


@given(
    st.lists(
        st.tuples(
            st.builds(str.__add__, st.sampled_from(_SIDES), st.sampled_from(_HEADINGS) | _MADE | st.text(max_size=20)),
            st.lists(_CELL, max_size=6),
        ),
        min_size=1, max_size=12, unique_by=lambda pair: " ".join(pair[0].casefold().split()),
    ),
    st.randoms(use_true_random=False),
)  # fmt: skip
@settings(max_examples=250)
def test_whatever_the_sheet_the_page_loads_and_proves_its_answers(
    columns: list[tuple[str, Sequence[str]]], chance: object
) -> None:
    given_columns = {"Town": ["Millbrook"]} | {" ".join(heading.split()): cells for heading, cells in columns}
    found = draft(given_columns)
    with tempfile.TemporaryDirectory() as folder:
        _, issues = load(found, Path(folder))
        allowed = {"R220"} if open_questions(found) else {"R211"} if found.missing or found.rows == "ear" else set()
        assert {i.rule for i in issues} <= allowed, layout_page(found)
        for _ in range(300):
            if not (waiting := open_questions(found)):
                break
            found = answer(found, waiting[0], waiting[0].answers[chance.randrange(len(waiting[0].answers))][0])  # type: ignore[attr-defined]
        else:
            raise AssertionError("the questions never end")
        _, issues = load(found, Path(folder))
        assert {i.rule for i in issues} <= {"R211", "R213"}, layout_page(found)


@given(
    st.lists(_CELL, min_size=1, max_size=8), st.sampled_from(["Consent to share", "Consent to treat", "R drum", "Ear"])
)
@settings(max_examples=150)
def test_a_meaning_stands_in_the_table(cells: Sequence[str], heading: str) -> None:
    group = {
        "Consent to share": "sharing.status",
        "Consent to treat": "consent.status",
        "R drum": "part",
        "Ear": "side",
    }
    found = draft({heading: cells, "L drum": ["NAD"]})
    guess = found.guess_of(heading)
    for word, means in guess.words.items():
        if means != ASK:
            options = [
                *cell_meanings(group[heading]).get(cell_key(word), ()),
                *cell_meanings("yes-no").get(cell_key(word), ()),
            ]
            assert means in {m for m, _ in options} | {"given" for m, _ in options if m == "yes"} | {
                "refused" for m, _ in options if m == "no"
            }  # fmt: skip


def test_the_same_sheet_gives_the_same_page() -> None:
    columns = {
        "R drum": ["NAD", "ok", "UTV"],
        "L drum": ["fine", "NAD", "-"],
        "Consent": ["y", "n", "?"],
        "Date": ["1/2/26"],
    }
    assert layout_page(draft(columns)) == layout_page(draft(columns))


def test_no_column_of_a_sheet_of_visits_is_asked_whether_it_names_the_ear_of_the_row() -> None:
    found = draft({"Town": ["Millbrook"], "absaugdruck": [], "bouchon": [], "EARS:0": ["yes"]})
    offered = {answer for question in open_questions(found) for answer, _ in question.answers}
    assert found.rows == "visit"
    assert "consent.status" in offered
    assert "ear" not in offered
