"""Cells that say that something could not be seen become that answer, never a finding or a note."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from bridge.issues import Severity
from bridge.read.unseen import unseen
from tests.read.sheets import read_rows, records


def before(folder: Path, rows: str = "visit", **cells: Any) -> Any:
    [reading] = records(read_rows(folder, [{k.replace("_", " "): v for k, v in cells.items()}], rows))
    assert reading.visit is not None, reading.issues
    assert [i for i in reading.issues if i.severity >= Severity.warning] == []
    assert reading.visit.right is not None
    return reading.visit.right.before


@pytest.mark.parametrize(
    ("words", "reason"),
    [("TM not seen", None), ("drum not visualised", None), ("can't see TM", None), ("Unable to see drum.", None),
     ("drum obscured", None), ("drum obscured by wax", "wax"), ("no view of TM", None), ("not visualised", None),
     ("TM not seen due to wax", "wax"), ("TM not seen (narrow canal)", "narrow canal"), ("TM: not seen", None),
     ("R TM not seen", None), ("cannot see the drum, wax ++", "wax ++"), ("not seen", None), ("can’t see TM", None)],
)  # fmt: skip
def test_a_drum_that_was_not_seen(words: str, reason: str | None, tmp_path: Path) -> None:
    drum = before(tmp_path, R_drum=words).drum
    assert (drum.answer, drum.findings, drum.note) == ("not seen", (), None)
    assert (drum.reason.text if drum.reason else None) == reason


def test_the_other_columns(tmp_path: Path) -> None:
    assert before(tmp_path, R_canal="canal not visualised", R_drum=None).canal.answer == "not seen"
    seen = before(tmp_path, R_before_view="no view of TM")
    assert (seen.view.achieved, seen.view.answer) == ("none", None)


@pytest.mark.parametrize("column", ["R_canal", "R_wax"])
def test_a_drum_in_the_column_of_another_part_is_still_the_drum(column: str, tmp_path: Path) -> None:
    seen = before(tmp_path, **{"R_drum": None, "R_wax_%": None, column: "unable to see drum"})
    assert seen.drum.answer == "not seen"
    assert (seen.canal if column == "R_canal" else seen.wax) is None


def test_a_row_of_one_ear(tmp_path: Path) -> None:
    assert before(tmp_path, "ear", Drum="TM not seen").drum.answer == "not seen"


@pytest.mark.parametrize(
    "words",
    [
        "TM not fully seen",
        "TM partly obscured",
        "perforation not seen",
        "TM seen",
        "TM not seen, ?perf 5 mm",
        "no view",
    ],
)
def test_anything_else_is_left_alone(words: str) -> None:
    assert unseen("wax", words) is None
    assert words == "no view" or unseen("drum", words) is None
