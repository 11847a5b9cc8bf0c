"""The table of codes: one row for a code, whichever ears have it, with the practice's own words for each."""

from __future__ import annotations

from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest

from bridge.build import build_document
from bridge.coding import code_visit, load_term_maps
from bridge.render.letter import page_of
from bridge.render.page import Grid, Text
from bridge.visit import Visit


def block(**changes: Any) -> Any:
    raw = {"number": "K1", "start": "2026-11-03", "client": {"legal_name": {"family": "Quill"}}, **changes}
    visit, _ = code_visit(Visit.model_validate(raw), load_term_maps())
    page = page_of(build_document(visit, UUID(int=7), ZoneInfo("Europe/London")))
    (section,) = (s for s in page.sections if s.key == "codes")
    return section.blocks[0]


def rows(**changes: Any) -> list[tuple[str, ...]]:
    grid = block(**changes)
    assert isinstance(grid, Grid)
    return [(row[0], row[1], row[3], row[5]) for row in grid.rows]


def wax(right: str | None, left: str | None) -> dict[str, Any]:
    return {ear: {"before": {"wax": word}} for ear, word in (("right", right), ("left", left)) if word}


@pytest.mark.parametrize(
    ("right", "left", "wanted"),
    [
        ("heavy", None, [("Wax", "Right", "271739002", "heavy")]),
        ("heavy", "heavy", [("Wax", "Both", "271739002", "heavy")]),
        ("heavy", "mild", [("Wax", "Both", "271739002", "Right: heavy; Left: mild")]),
        ("mild", "heavy", [("Wax", "Both", "271739002", "Right: mild; Left: heavy")]),
        ("heavy", "impacted", [("Wax", "Right", "271739002", "heavy"), ("Wax", "Left", "18070006", "impacted")]),
    ],
)
def test_a_code_that_both_ears_have_takes_one_row(right: str, left: str | None, wanted: list[Any]) -> None:
    assert rows(**wax(right, left)) == wanted


def test_what_one_ear_has_more_stands_behind_its_name() -> None:
    look = {"before": {"wax": "heavy"}, "after": {"wax": "mild"}}
    assert rows(right=look, left={"before": {"wax": "heavy"}}) == [("Wax", "Both", "271739002", "heavy; Right: mild")]


def test_several_words_of_one_code_share_a_row() -> None:
    (row,) = rows(advice=["keep dry", "no cotton buds"])
    assert row == ("Advice", "-", "385899006", "keep dry; no cotton buds")


def test_a_mark_keeps_rows_apart() -> None:
    found = rows(right={"impressions": ["exostoses"]}, left={"impressions": ["?exostoses"]})
    assert [row[:2] for row in found] == [("Impression", "Right"), ("Impression (suspected)", "Left")]
    past = rows(
        right={"impressions": ["exostoses"], "history": [{"term": {"text": "mastoidectomy", "assertion": "present"}}]}
    )
    assert {row[0] for row in past} == {"Impression", "Known from before"}


def test_nothing_has_a_code() -> None:
    assert block() == Text("Nothing in this letter has a published code.")


def test_several_facts_of_one_code_share_a_row_and_keep_their_marks() -> None:
    found = rows(left={"before": {"wax": "impacted"}, "impressions": ["impacted wax"]})
    assert found == [("Wax; Impression", "Left", "18070006", "impacted; impacted wax")]
    found = rows(left={"before": {"wax": "impacted"}, "impressions": ["?impacted wax"]})
    assert [row[:2] for row in found] == [("Wax; Impression (suspected)", "Left")]
