"""Cells as evidence: numbers, fractions, units, scales, names, lists, headings twice, columns that are not wanted."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from bridge.drafting import ASK
from tests.drafting.sheets import DATES, NAMES, beside, draft, load


@pytest.mark.parametrize(
    ("heading", "cells", "field"),
    [
        ("Kundenkürzel", ["ada@example.org", "bo@example.org", "cy@example.org"], "client.emails"),
        ("Health id", ["999 000 0018", "999 000 0026", "999 000 0034"], "client.nhs_number"),
        ("Who did", ["JB", "KQ", "JB", "JB"], "practitioners"),
        ("Kept since", ["", "", "", ""], "ignore"),
        ("Basket", ["12.50", "30.00", "25.00", "9.99"], "ignore"),
        ("Fee", ["60", "60", "45", "60"], "ignore"),
    ],
)
def test_what_cells_tell_under_an_unknown_heading(heading: str, cells: list[str], field: str) -> None:
    assert beside(**{heading: cells}).guess_of(heading).field == field


def test_words_that_are_no_initials_make_nobody_a_practitioner() -> None:
    assert beside(State=["NAD", "UTV", "NAD", "NAD"]).guess_of("State").field != "practitioners"


def test_a_birth_date_column_without_dates_is_asked() -> None:
    assert beside(DOB=["old", "young", "old", "?"]).guess_of("DOB").field == ASK


@pytest.mark.parametrize(
    ("cells", "unit"),
    [
        (["0.9", "0.5", "1"], "fraction"),
        (["90", "50", "100"], None),
        (["80%", "5%", "100%"], None),
        (["0.5", "80", "1"], ASK),
    ],
)
def test_percent_and_fractions(cells: list[str], unit: str | None) -> None:
    guess = draft({"R wax %": cells, "L wax %": cells, "Date": DATES, "Surname": NAMES}).guess_of("R wax %")
    assert (guess.field, guess.settings.get("unit")) == ("right.before.wax.percent", unit)


def test_small_numbers_for_wax_are_asked() -> None:
    guess = beside(R_wax=["0", "2", "3", "1"], L_wax=["0", "1", "1", "3"]).guess_of("R wax")
    assert guess.options[:2] == ["right.before.wax.percent", "right.before.wax"]


@pytest.mark.parametrize(
    ("heading", "cells", "settings"),
    [
        ("suction mmHg", ["120", "150"], {"unit": "mmHg"}),
        ("suction (kPa)", ["20", "18"], {"unit": "kPa"}),
        ("suction", ["120", "150"], {"unit": ASK}),
        ("suction", ["120 mmHg", "20 kPa"], {}),
        ("tube Fr", ["5", "6"], {"scale": "Fr"}),
        ("tube", ["5", "6"], {"scale": ASK}),
        ("tube", ["18G", "5 Fr", "2 mm"], {}),
        ("wax depth", ["12", "8"], {"unit": ASK}),
        ("water temp", ["37", "98"], {"unit": ASK}),
    ],
)
def test_units_and_scales(heading: str, cells: list[str], settings: dict[str, str]) -> None:
    found = draft({f"R {heading}": cells, f"L {heading}": cells, "Date": DATES, "Surname": NAMES})
    assert found.guess_of(f"R {heading}").settings == settings


@pytest.mark.parametrize(
    ("cells", "order"),
    [
        (["Smith, Ann", "Jones, Mary"], "family, given"),
        (["Ann Smith", "Mrs Mary Jones", "John Bell"], "given family"),
        (["Ann SMITH", "Quill JONES"], "given family"),
        (["Quill Vane", "Moss Tarn"], ASK),
        (["Smith Ann", "Jones Mary", "Bell John"], ASK),
    ],
)
def test_the_order_of_a_name(cells: list[str], order: str) -> None:
    assert draft({"Date": DATES, "Name": cells}).guess_of("Name").settings["name"] == order


def test_a_name_beside_given_names_is_the_family_name() -> None:
    found = draft({"Name": ["Müller"], "Vorname": ["Hans"], "Datum": ["14.05.2026"]})
    assert [g.field for g in found.guesses[:2]] == ["client.legal_name.family", "client.legal_name.given"]


def test_what_stands_between_several_things_is_told_by_known_words() -> None:
    found = beside(
        R_wax_type=["hard, dry", "soft"], L_wax_type=["soft", "hard"], Advice=["keep dry; olive oil", "none"]
    )
    assert found.guess_of("R wax type").settings == {"list": ","}
    assert found.guess_of("L wax type").settings == {"list": ","}
    assert found.guess_of("Advice").settings == {"list": ";"}


@pytest.mark.parametrize(
    ("numbers", "days", "field"),
    [
        (["1", "2", "3", "4"], DATES, "number"),
        (["1", "1", "2", "2"], ("14/05/2026", "14/05/2026", "15/05/2026", "15/05/2026"), "number"),
        (["1", "1", "2", "2"], DATES, ASK),
    ],
)
def test_a_number_is_the_visits_where_it_stays_with_its_date(
    numbers: list[str], days: tuple[str, ...], field: str
) -> None:
    assert draft({"No": numbers, "Date": days, "Surname": NAMES}).guess_of("No").field == field


def test_two_columns_for_one_place_are_both_asked() -> None:
    found = draft({"Date": DATES, "Visit date": DATES, "Surname": NAMES})
    assert [g.field for g in found.guesses[:2]] == [ASK, ASK]


def test_a_heading_that_stands_twice_is_two_columns(tmp_path: Path) -> None:
    from bridge.drafting import Sheet, draft_layout

    sheet = Sheet("sheet", ["Date", "Surname", "Notes", "Notes", "Wax", "Wax"])
    sheet.take([["14/05/2026", "Testington", "came late", "left early", "heavy", "mild"]] * 2)
    found = draft_layout(sheet)
    told = [(g.heading, g.field) for g in found.guesses[2:]]
    assert told == [("Notes", "note"), ("Notes (2)", "note"), ("Wax", ASK), ("Wax (2)", ASK)]
    assert {i.rule for i in load(found, tmp_path)[1]} == {"R220"}


def test_two_columns_of_notes_are_both_kept(tmp_path: Path) -> None:
    found = beside(Notes=["a b c"] * 4, Comments=["d e f"] * 4)
    assert load(found, tmp_path)[1] == []


def test_columns_that_are_no_part_of_a_visit_are_sure_where_the_table_has_them() -> None:
    found = beside(Invoice=["1", "2"], Internal_notes=["moody", "late"])
    assert [(g.field, g.sure) for g in found.guesses[2:]] == [("ignore", "sure"), ("ignore", "sure")]


def test_a_dictated_sheet_keeps_its_words_as_a_note(tmp_path: Path) -> None:
    long = "Both canals were full of hard wax, which I cleared with suction, and both drums then looked normal."
    names = ["Ann Smith", "Mary Bell", "John Moss", "Jane Wood"]
    born = ["1/2/1950", "3/4/1961", "20/5/1972", "7/8/1933"]
    found = draft({"Date": DATES, "Name": names, "Born": born, "What I saw": [long] * 4})
    assert [g.field for g in found.guesses] == ["start.date", "client.legal_name", "client.birth_date", "note"]
    assert load(found, tmp_path)[1] == []


def test_the_order_of_the_rows_does_not_matter() -> None:
    columns = {"Date": list(DATES), "Surname": list(NAMES), "R drum": ["NAD", "ok", "UTV", "-"], "L drum": ["NAD"] * 4}
    told = [(g.heading, g.field, dict(sorted(g.words.items()))) for g in draft(columns).guesses]
    order = list(range(4))
    random.Random(7).shuffle(order)
    mixed = {heading: [cells[at] for at in order] for heading, cells in columns.items()}
    assert [(g.heading, g.field, dict(sorted(g.words.items()))) for g in draft(mixed).guesses] == told


def test_very_long_and_very_many_headings_still_load(tmp_path: Path) -> None:
    found = draft({"Date": DATES, "Surname": NAMES, "x" * 5000: ["a"], **{f"Extra {n}": ["1"] for n in range(300)}})
    assert {i.rule for i in load(found, tmp_path)[1]} <= {"R220"}
    assert "5000 characters" in found.sheet.remarks[0]


@pytest.mark.parametrize(
    ("heading", "right", "left", "field"),
    [
        ("{} zorkle", ["BTE", "ITE", "BTE", "none"], ["ITE", "", "BTE", "BTE"], "right.hearing_aid.style"),
        ("{} zorkle", ["microsuction", "irrigation", "microsuction", ""], ["", "curette", "", ""], "right.work.method"),
        ("{} before", ["heavy", "hard", "impacted", "none"], ["mild", "soft", "heavy", ""], "right.before.wax"),
        ("{} zorkle after", ["retracted", "perforation", "retracted", "NAD"], ["dull", "dull", "", ""],
         "right.after.drum"),
        ("{} zorkle", ["120 mmHg", "150 mmHg", "20 kPa", ""], ["120 mmHg", "", "", ""], "right.work.suction.pressure"),
        ("{} zorkle", ["18G", "5 Fr", "6 Fr", ""], ["5 Fr", "", "", ""], "right.work.instruments.size"),
    ],
)  # fmt: skip
def test_words_and_units_of_one_kind_tell_the_field(
    heading: str, right: list[str], left: list[str], field: str
) -> None:
    guess = beside(**{heading.format("Right"): right, heading.format("Left"): left}).guess_of(heading.format("Right"))
    assert (guess.field, guess.sure) == (field, "likely")


@pytest.mark.parametrize(
    "cells",
    [["yes", "no", "yes", "no"], ["NAD", "NAD", "NAD", "UTV"], ["none", "nil", "none", "clear"], ["x", "", "x", "x"]],
)
@pytest.mark.parametrize("heading", ["{} zorkle", "{} zorkle before", "{} not seen", "No {} wax"])
def test_answers_that_fit_anywhere_tell_no_field(heading: str, cells: list[str]) -> None:
    guess = beside(**{heading.format("Right"): cells, heading.format("Left"): cells}).guess_of(heading.format("Right"))
    assert guess.field == ASK or guess.field.endswith("note")


def test_drum_words_without_a_stage_are_asked() -> None:
    cells = ["retracted", "perforation", "dull", "bulging"]
    guess = beside(Right_zorkle=cells, Left_zorkle=cells).guess_of("Right zorkle")
    assert guess.options[:2] == ["right.before.drum", "right.after.drum"]


def test_sentences_under_an_unknown_heading_become_a_note() -> None:
    told = ["she came with her daughter and was pleased", "the aid whistled until it was put in again",
            "asked about swimming and about the next flight", "was here last year with the same trouble"]  # fmt: skip
    guess = beside(Zorkle=told).guess_of("Zorkle")
    assert (guess.field, guess.sure) == ("note", "likely")
