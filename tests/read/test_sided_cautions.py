"""Cautions that name an ear, and asks of the doctor with a semicolon inside."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.read.sheets import codes, read_rows, records


@pytest.mark.parametrize(
    ("cell", "wanted"),
    [
        ("R only hearing ear; diabetes", [("only hearing ear", "right"), ("diabetes", None)]),
        ("only hearing ear (L), warfarin", [("only hearing ear", "left"), ("warfarin", None)]),
        ("left ear: grommet in situ", [("grommet in situ", "left")]),
        ("both mastoid cavity", [("mastoid cavity", "right"), ("mastoid cavity", "left")]),
        ("L ?perf", [("?perf", "left")]),
        ("RT head and neck", [("RT head and neck", None)]),
        ("R handed", [("R handed", None)]),
        ("only hearing ear", [("only hearing ear", None)]),
    ],
)
def test_the_ear_of_a_caution(cell: str, wanted: list[tuple[str, str | None]], tmp_path: Path) -> None:
    [reading] = records(read_rows(tmp_path, [{"Cautions": cell}]))
    assert reading.visit is not None, reading.issues
    assert [(c.term.text, c.ear) for c in reading.visit.cautions] == wanted


@pytest.mark.parametrize(
    ("cell", "wanted", "rules"),
    [
        ("Please look; please prescribe drops", ["Please look", "please prescribe drops"], set()),
        ("Examine the drum; hearing test", ["Examine the drum", "hearing test"], set()),
        ("Please examine the drum; tender, not cleared", ["Please examine the drum; tender, not cleared"], {"R168"}),
        ("Examine; swollen; refer if worse", ["Examine; swollen", "refer if worse"], {"R168"}),
        ("drum not seen; please review", ["drum not seen", "please review"], set()),
    ],
)  # fmt: skip
def test_a_part_that_asks_for_nothing_is_no_ask(cell: str, wanted: list[str], rules: set[str], tmp_path: Path) -> None:
    readings = read_rows(tmp_path, [{"GP action": cell}])
    [reading] = records(readings)
    assert reading.visit is not None
    assert [request.action for request in reading.visit.requests] == wanted
    assert set(codes(readings)) == rules


@pytest.mark.parametrize(
    ("rows", "cell"),
    [
        ("visit", {"R symptoms": "blocked L more than R"}),
        ("visit", {"R symptoms": "same as left"}),
        ("visit", {"R symptoms": "same as L"}),
        ("visit", {"R drum": "R dull, L perf"}),
        ("visit", {"R wax": "R occluded L clear"}),
        ("ear", {"Ear": "R", "Drum": "dull, same as left"}),
        ("ear", {"Ear": "R", "Drum": "worse than L, dull"}),
    ],
)
def test_the_other_ear_is_told_of_once(rows: str, cell: dict[str, str], tmp_path: Path) -> None:
    [reading] = records(read_rows(tmp_path, [cell], rows))
    assert reading.visit is None
    assert [issue.rule for issue in reading.issues] == ["R115"]
