"""Sheets of strangers in ten languages: nearly every column right, none dangerous, and the page loads."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.drafting import open_questions
from tests.benchmarks.drafts import DANGERS, judge
from tests.drafting.sheets import load
from tests.drafting.strangers import draft_of, strangers

SHEETS = strangers()


@pytest.mark.parametrize("name", SHEETS)
def test_a_strangers_sheet_is_drafted(name: str, tmp_path: Path) -> None:
    drafted, truth = SHEETS[name]
    found = draft_of(drafted)
    told = list(judge(found, truth))
    assert [note for kind, note in told if kind in (*DANGERS, "rows", "wrong")] == []
    assert sum(kind == "right" for kind, _ in told) >= 0.8 * len(truth.columns), told
    assert {i.rule for i in load(found, tmp_path)[1]} == ({"R220"} if open_questions(found) else set())


def test_the_sheets_speak_all_languages() -> None:
    from bridge.drafting.tables import LANGUAGES

    assert {draft_of(drafted).language for drafted, _ in SHEETS.values()} >= set(LANGUAGES) - {"da"}


def test_latin_marks_of_the_american_sheet_are_one_question() -> None:
    drafted, _ = SHEETS["US office, Latin marks"]
    questions = open_questions(draft_of(drafted))
    assert [q.about for q in questions].count("marks") == 1
