"""Cells of several statements in a sheet with one row per ear, and in lists: the row's ear holds for each part."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.read.sheets import codes, read_rows, records


def drums(folder: Path, ear: str, cell: str) -> dict[str, list[str]]:
    [reading] = records(read_rows(folder, [{"Ear": ear, "Drum": cell}], "ear"))
    assert reading.visit is not None, [(i.rule, i.message) for i in reading.issues]
    found = {}
    for side, record in (("right", reading.visit.right), ("left", reading.visit.left)):
        drum = record.before.drum if record and record.before else None
        found[side] = [f.term.text for f in drum.findings] if drum else []
    return found


@pytest.mark.parametrize(
    ("ear", "cell", "right", "left"),
    [
        ("R", "dull, no perf", ["dull", "no perf"], []),
        ("L", "L dull, no perf", [], ["dull", "no perf"]),
        ("both", "dull and red", ["dull", "red"], ["dull", "red"]),
        ("R", "no perf or discharge; dull", ["no perf", "no discharge", "dull"], []),
    ],
)
def test_each_part_is_about_the_row_s_ear(
    ear: str, cell: str, right: list[str], left: list[str], tmp_path: Path
) -> None:
    assert drums(tmp_path, ear, cell) == {"right": right, "left": left}


@pytest.mark.parametrize(("ear", "cell"), [("R", "R dull, L perf"), ("R", "L dull, red"), ("both", "R dull, red")])
def test_a_part_about_another_ear_is_refused(ear: str, cell: str, tmp_path: Path) -> None:
    readings = read_rows(tmp_path, [{"Ear": ear, "Drum": cell}], "ear")
    assert records(readings)[0].visit is None
    assert set(codes(readings)) <= {"R113", "R135"}


def test_words_of_the_layout_hold_in_each_part(tmp_path: Path) -> None:
    layout = {"words": {"*.drum": {"gluggy": "normal"}}}
    [reading] = records(read_rows(tmp_path, [{"R drum": "gluggy, no perf"}], layout=layout))
    assert reading.visit is not None and reading.visit.right is not None  # noqa: PT018
    assert reading.visit.right.before is not None
    drum = reading.visit.right.before.drum
    assert drum is not None
    assert (drum.answer, [f.term.text for f in drum.findings]) == ("normal", ["no perf"])


def test_wax_is_kept_whole_where_its_kinds_have_columns_of_their_own(tmp_path: Path) -> None:
    [reading] = records(read_rows(tmp_path, [{"R wax": "soft brown", "R wax type": "soft"}]))
    assert reading.visit is not None and reading.visit.right is not None  # noqa: PT018
    assert reading.visit.right.before is not None
    wax = reading.visit.right.before.wax
    assert wax is not None and wax.amount is not None  # noqa: PT018
    assert (wax.amount.text, [t.text for t in wax.consistency]) == ("soft brown", ["soft"])
