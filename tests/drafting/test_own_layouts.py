"""The headings of the layouts that are shipped draft to their own fields, or are asked with them in front."""

from __future__ import annotations

import re

import pytest

from bridge.data import table_path
from bridge.drafting import ASK, Draft, Sheet, draft_layout
from bridge.layout import Layout, load_layouts
from tests.drafting.sheets import TERMS

LAYOUTS = {layout.name: layout for layout in load_layouts(table_path("layouts"))}
OF_ITS_CELLS = {"Visit / No", "Visit / From", "Visit / To", "ear", "Clinic", "clinic", "Visit / Clinic"}
"""Two columns “No” or “From” are told apart by their cells only, and so is a column of sides; a clinic is asked about,
because it may be a branch of one's own."""


def drafted(layout: Layout) -> Draft:
    cells = [next((w for t in c.targets for w in t.words), "") for c in layout.columns]
    sheet = Sheet("own", [c.heading for c in layout.columns])
    sides = [next((t.field.kind for t in c.targets), "") == "side" for c in layout.columns]
    for ear in ("R", "L"):
        sheet.take([[ear if side else cell for cell, side in zip(cells, sides, strict=True)]])
    return draft_layout(sheet, TERMS)


@pytest.mark.parametrize("name", LAYOUTS)
def test_own_headings_are_known(name: str) -> None:
    made = drafted(LAYOUTS[name])
    wrong = []
    for column in LAYOUTS[name].columns:
        if column.heading in OF_ITS_CELLS or not column.targets:
            continue
        guess = made.guess_of(column.heading)
        first = guess.options[0] if guess.field == ASK else guess.field
        wanted = {t.field.pattern + (f".{t.field.part}" if t.field.part else "") for t in column.targets}
        if re.sub(r"\[\d+\]", "", first) not in wanted:
            wrong.append((column.heading, guess.field, guess.options, wanted))
    assert wrong == []
