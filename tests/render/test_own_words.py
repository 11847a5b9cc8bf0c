"""A record that is one dictated text gives a letter in those words first, and names what stands nowhere else."""

from __future__ import annotations

from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from lxml import html

from bridge.build import build_document
from bridge.render.as_html import render
from bridge.visit import Visit

WORDS = "Right ear full of hard wax, suctioned, drum intact behind it. Please look at the left canal."


def text(**more: Any) -> str:
    base = {
        "number": "V1", "start": "2026-05-03T10:00+01:00",
        "practitioners": [{"key": "PS", "name": {"family": "Sandholt"}}],
        "client": {"legal_name": {"family": "Rowe"}, "birth_date": "1950-02-03"},
        "clinic": {"name": "Clinic"}, "family_doctor": {"practice": "Surgery"}, "sharing": {"status": "given"},
    }  # fmt: skip
    namespace = "6f0b6d1e-3c52-4b7a-9e0d-5a1c8f27d943"
    bundle = build_document(Visit.model_validate(base | more), UUID(namespace), ZoneInfo("Europe/London"))
    return " ".join(html.fromstring(render(bundle).content.decode("utf-8")).body.text_content().split())


def test_a_dictated_visit_reads_in_its_own_words_first() -> None:
    page = text(note=WORDS)
    assert page.index("In the clinic’s own words") < page.index(WORDS) < page.index("Attendance details")
    assert "Not seen or examined" not in page
    assert page.count(WORDS) == 1
    for gap in ("No request to the family doctor", "No examination", "No work on either ear"):
        assert f"{gap} is recorded beside the clinic’s own words" in page
    assert "Nothing in this letter has a published code." in page


def test_notes_of_each_ear_stand_under_that_ear() -> None:
    page = text(right={"note": "Hard wax, all removed."}, left={"note": "Left alone."})
    own = page[page.index("In the clinic’s own words") : page.index("Attendance details")]
    assert (
        own.index("Right ear") < own.index("Hard wax, all removed.") < own.index("Left ear") < own.index("Left alone.")
    )
    assert "No work on this ear is recorded" not in page


def test_one_ear_with_facts_and_one_with_a_note() -> None:
    page = text(right={"note": "Hard wax, all removed."}, left={"before": {"drum": "normal"}})
    words, rest = "Hard wax, all removed.", "Not recorded in fields of its own; see the clinic’s own words"
    assert page.count(words) == 1
    assert page.index("Before") < page.index(words) < page.index("Done") < page.index(rest)
    assert page.count(rest) == 3
    assert "Eardrum: looked normal" in page


def test_without_a_note_nothing_points_to_one() -> None:
    page = text()
    assert "own words" not in page
    assert "No work on either ear is recorded." in page
