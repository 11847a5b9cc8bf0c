"""A practice's own words count where a cell of several statements is taken apart."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from bridge.data import mappings_root
from bridge.layout import load_layout
from bridge.layout.fields import find_field
from bridge.layout.model import Layout, Target
from bridge.pipeline import Conversion, Converter
from bridge.practice import load_practice
from bridge.read.terms import understand
from tests.coding.test_own_terms import HEAD
from tests.read.sheets import good, layout_data, write_layout, write_sheet

ROWS = (
    "drum,our-frosted,frosted look,frosted|a frosted look at the back,,our clinic,2026-11,",
    "caution,our-fidget,fidgets,fidgets,,our clinic,2026-11,",
)


def convert(folder: Path, own: bool, **cells: str) -> Conversion:
    demo = mappings_root() / "demo"
    shutil.copytree(demo, folder / "practice")
    if own:
        (folder / "practice" / "terms").mkdir()
        (folder / "practice" / "terms" / "ours.csv").write_text(HEAD + "\n".join(ROWS) + "\n", encoding="utf-8")
    practice, issues = load_practice(folder / "practice")
    assert practice is not None
    layout = load_layout(write_layout(folder, layout_data()))
    sheet = write_sheet(folder / "sheet.csv", layout, [{**good("visit"), **cells}])
    found = list(Converter(practice, folder / "practice", issues).convert(sheet, layout))
    [conversion] = [c for c in found if c.state != "left alone"]
    return conversion


def words(conversion: Conversion) -> list[tuple[str, str | None]]:
    assert conversion.visit is not None and conversion.visit.right is not None  # noqa: PT018
    before = conversion.visit.right.before
    assert before is not None
    found = [(f.term.text, f.term.assertion) for f in before.drum.findings] if before.drum else []
    if before.wax and before.wax.amount:
        found.append((before.wax.amount.text, before.wax.amount.assertion))
    return found + [(c.term.text, c.term.assertion) for c in conversion.visit.cautions]


@pytest.mark.parametrize(
    ("cells", "told"),
    [
        ({"R drum": "frosted, no perf", "R wax": "none"}, [("frosted", "present"), ("no perf", "absent"),
                                                          ("none", None)]),
        ({"R drum": "TM intact and no frosted", "R wax": "none"}, [("TM intact", "present"), ("no frosted", "absent"),
                                                                  ("none", None)]),
        ({"R drum": "a frosted look at the back, red", "R wax": "none"}, [("a frosted look at the back", "present"),
                                                                         ("red", "present"), ("none", None)]),
        ({"R drum": "dull", "R wax": "none", "Cautions": "diabetic, fidgets"},
         [("dull", "present"), ("none", None), ("diabetic", "present"), ("fidgets", "present")]),
    ],
)  # fmt: skip
def test_own_words_are_known_in_sentences(
    cells: dict[str, str], told: list[tuple[str, str | None]], tmp_path: Path
) -> None:
    for own in (True, False):
        folder = tmp_path / str(own)
        folder.mkdir()
        assert (words(convert(folder, own, **cells)) == told) == own


def test_own_words_are_known_in_a_description_of_wax() -> None:
    field = find_field("right.before.wax", "visit")
    assert field is not None
    for known, values in (({"wax-amount": {"gloopsy"}}, ["gloopsy", "brown"]), ({}, ["gloopsy brown"])):
        layout = Layout("test", "visit", (), known=known)
        cell = understand(layout, Target(field, {}), "gloopsy brown")
        assert [put.value for put in cell.puts] == values
