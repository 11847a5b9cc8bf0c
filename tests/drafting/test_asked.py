"""R220: a layout with an open question is not used, and all its questions are told with their headings."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.layout import LayoutError, check_layout, load_layout

OPEN = """name: own
rows: visit
dates: [yyyy-mm-dd, ask]
words:
  "*.drum":
    ok: ask
columns:
  Nr: number
  Day: start.date
  Name: {to: client.legal_name, name: ask}
  GP letter: ask
  Consent: {to: consent.status, words: {signed: ask, "yes": given}}
  R suction: {to: right.work.suction.pressure, unit: ask}
  Two: [note, ask]
"""


def test_every_question_is_told_at_its_line(tmp_path: Path) -> None:
    path = tmp_path / "own.yaml"
    path.write_text(OPEN, encoding="utf-8")
    layout, issues = check_layout(path)
    assert layout is None
    assert [(i.rule, i.where.row) for i in issues] == [("R220", row) for row in (3, 6, 10, 11, 12, 13, 14)]
    with pytest.raises(LayoutError) as told:
        load_layout(path)
    for heading in ("GP letter", "Consent", "signed", "R suction", "Name", "Two", "ok"):
        assert f"“{heading}”" in told.value.message


@pytest.mark.parametrize(
    "line",
    ["blank_cells: [ask]", "rows: ask", "two_digit_years: ask", "times: [ask]"],
    ids=lambda line: line.split(":")[0],
)
def test_settings_of_the_sheet_can_be_open(tmp_path: Path, line: str) -> None:
    rows = "" if line.startswith("rows") else "rows: visit\n"
    path = tmp_path / "own.yaml"
    path.write_text(f"name: own\n{rows}{line}\ncolumns: {{Nr: number}}\n", encoding="utf-8")
    assert [i.rule for i in check_layout(path)[1]] == ["R220"]


def test_a_heading_or_a_word_called_ask_is_no_question(tmp_path: Path) -> None:
    path = tmp_path / "own.yaml"
    columns = "columns:\n  ask: note\n  Day: start.date\n  Name: client.legal_name.family\n"
    path.write_text(f"name: ask me\nrows: visit\nyes: [ask]\n{columns}", encoding="utf-8")
    assert check_layout(path)[1] == []
