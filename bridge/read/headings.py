"""Which row of a table holds its headings."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import islice

from bridge.layout.tables import fold
from bridge.read.rows import Raw, Table

HEADING_WITHIN = 20
"""Headings stand in one of so many first rows."""


def heading(table: Table, known: frozenset[str] = frozenset(), count: int = 0) -> tuple[list[str], int]:
    """The headings of a table and the number of the first row of data below them; no headings where it is empty.

    `known`: folded headings that a layout looks for.
    """
    head = heading_row(list(islice(table.rows(), HEADING_WITHIN)), known)
    if head is None:
        return [], 1
    return [" ".join(c.replace("\x00", "").split()) for c in head.cells], head.number + 1


def heading_row(first: Sequence[Raw], known: frozenset[str]) -> Raw | None:
    """The row of headings among the first ones: the one with most known headings, or else the first that is not
    blank, a title over the sheet, or the line `sep=;` that a spreadsheet program writes."""
    filled = [r for r in first if any(c.strip() for c in r.cells) and not r.cells[0].lower().startswith("sep=")]
    if not filled:
        return None
    most = max(sum(1 for c in r.cells if c.strip()) for r in filled)
    wide = [r for r in filled if sum(1 for c in r.cells if c.strip()) * 2 >= most]
    best = max(filled, key=lambda r: (sum(fold(c) in known for c in r.cells), -r.number))
    return best if sum(fold(c) in known for c in best.cells) >= 2 else wide[0]
