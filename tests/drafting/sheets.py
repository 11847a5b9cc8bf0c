"""Small sheets to draft from."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from bridge.coding import load_term_maps
from bridge.drafting import Draft, Sheet, draft_layout, layout_page
from bridge.issues import Issue
from bridge.layout import Layout, check_layout

TERMS = load_term_maps()
DATES = ("14/05/2026", "15/05/2026", "16/05/2026", "17/05/2026")
NAMES = ("Testington", "Sampleby", "Mockford", "Trialworth")


def draft(columns: dict[str, Sequence[str]], *, typed: bool = False) -> Draft:
    """A draft of a sheet given by its columns."""
    headings = list(columns)
    rows = max(map(len, columns.values()), default=0)
    sheet = Sheet("sheet", headings, typed=typed)
    sheet.take([[col[at] if at < len(col) else "" for col in columns.values()] for at in range(rows)])
    return draft_layout(sheet, TERMS)


def beside(**columns: Sequence[str]) -> Draft:
    """A draft of these columns beside the date and the name that every visit has."""
    given = {heading.replace("_", " "): cells for heading, cells in columns.items()}
    return draft({"Date": DATES, "Surname": NAMES, **given})


def load(found: Draft, folder: Path) -> tuple[Layout | None, list[Issue]]:
    """The drafted page as a layout, with everything that is wrong with it."""
    path = folder / "drafted.yaml"
    path.write_text(layout_page(found), encoding="utf-8")
    return check_layout(path)
