"""Clinic files of strangers: nothing dangerous is ever drafted, and nearly every column is right or asked."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.drafting import layout_page, open_questions
from bridge.drafts import draft_file
from bridge.layout import check_layout
from tests.benchmarks.drafts import judge
from tests.draft_files import Sheet, draft_files

SHEETS = [(path, sheet) for path, truth in draft_files() for sheet in truth.sheets if sheet.rows != "none"]
DANGERS = ("side", "consent", "normal")


@pytest.mark.parametrize(("path", "sheet"), SHEETS, ids=[path.name for path, _ in SHEETS])
def test_a_file_is_drafted(path: Path, sheet: Sheet, tmp_path: Path) -> None:
    found = draft_file(path, sheet.name)
    told = list(judge(found, sheet))
    assert [note for kind, note in told if kind in DANGERS] == []
    wrong = [note for kind, note in told if kind == "wrong"]
    assert len(wrong) * 10 <= len(sheet.columns), wrong
    page = tmp_path / "drafted.yaml"
    page.write_text(layout_page(found), encoding="utf-8")
    rules = {i.rule for i in check_layout(page)[1]}
    assert rules == ({"R220"} if open_questions(found) else set())
    assert layout_page(draft_file(path, sheet.name)) == layout_page(found)
