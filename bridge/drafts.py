"""The corridor to drafting: opens a file, hands its headings and rows to the room, and gives back the draft."""

from __future__ import annotations

from pathlib import Path

from bridge.coding import load_term_maps
from bridge.drafting import Draft, Sheet, draft_layout
from bridge.errors import InputError
from bridge.read import Table, heading, open_tables
from bridge.read.sheet import left_alone


def draft_file(path: Path, sheet: str = "", folder: Path | None = None) -> Draft:
    """The proposed layout of a file's sheet. Raises InputError for files that are none.

    `sheet`: the name of the worksheet, or of the table of a database; `folder`: the practice's, for its own words.
    """
    maps = load_term_maps(folder, licensed=True)  # only words count here, whatever codes the practice may send
    return draft_layout(take_sheet(path, sheet), maps)


def take_sheet(path: Path, sheet: str = "") -> Sheet:
    """The sheet with its cells counted; rows that are no records (sums, headings again) are left out."""
    table = _choose(open_tables(path), sheet, path)
    headings, first = heading(table)
    if not any(headings):
        raise InputError(f"{path.name} holds no headings.", "The first row should name the columns.")
    found = Sheet(path.stem[:60] or "sheet", headings, typed=table.typed)
    found.take(r.cells for r in table.rows() if r.number >= first and not r.broken and not left_alone(r, headings, []))
    return found


def _choose(tables: list[Table], name: str, path: Path) -> Table:
    if name:
        for table in tables:
            if table.sheet.casefold() == name.casefold():
                return table
        known = ", ".join(f"“{t.sheet}”" for t in tables if t.sheet)
        raise InputError(f"{path.name} has no sheet “{name[:60]}”.", f"Its sheets: {known}." if known else "")
    return tables[0]
