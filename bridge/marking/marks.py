"""Which cell gets which colour and which note."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from bridge.issues import Issue, Report, Severity

WORDS = {
    Severity.fatal: "ERROR",
    Severity.error: "ERROR",
    Severity.warning: "CHECK",
    Severity.information: "NOTE",
}
"""How bad it is, in a word: nobody has to see the colour."""
COLOURS = {
    Severity.fatal: "F8CBAD",
    Severity.error: "F8CBAD",
    Severity.warning: "FFE699",
    Severity.information: "DDEBF7",
}
AUTHOR = "visit-bridge"
MOST_IN_A_NOTE = 10
LONGEST = 32_000
"""A cell takes 32,767 characters, a note as many."""
_UNSEEN = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")

Spot = tuple[int, int]
"""Row and column, from 1."""


def marks_of(issues: Iterable[Issue], file: str) -> dict[str, dict[Spot, list[Issue]]]:
    """The issues of one file that have a row, by sheet and cell, the worst of a cell first.

    What is about a row as a whole stands at its first cell.
    """
    found: dict[str, dict[Spot, list[Issue]]] = {}
    for one in issues:
        where = one.where
        if where.file == file and where.row is not None:
            found.setdefault(where.sheet, {}).setdefault((where.row, where.column or 1), []).append(one)
    for cells in found.values():
        for spot, of_cell in cells.items():
            cells[spot] = sorted(dict.fromkeys(of_cell), key=lambda i: -i.severity)
    return found


def worst_first(issues: Sequence[Issue]) -> list[Issue]:
    """All issues, those of one cause together, the worst and most frequent cause first."""
    return [one for group in Report(list(issues)).by_cause() for one in group]


def note_of(issues: Sequence[Issue]) -> str:
    """What is said of one cell: what was found, what to do, under which rule."""
    parts = [f"{WORDS[i.severity]} ({i.rule})\n{i.message}\nWhat to do: {i.help}" for i in issues[:MOST_IN_A_NOTE]]
    if len(issues) > MOST_IN_A_NOTE:
        parts.append(f"And {len(issues) - MOST_IN_A_NOTE} more, told on the sheet “To do”.")
    return safe("\n\n".join(parts))


def colour_of(issues: Sequence[Issue]) -> str:
    return COLOURS[max(i.severity for i in issues)]


def lines_in(text: str, width: int) -> int:
    """How many lines a text takes at so many letters in a line."""
    return sum(max(1, -(-len(line) // width)) for line in text.split("\n"))


def safe(text: str) -> str:
    """Text that a workbook can hold: no control characters, not too long."""
    clean = _UNSEEN.sub("\ufffd", text.replace("\r\n", "\n").replace("\r", "\n"))
    return clean if len(clean) <= LONGEST else clean[: LONGEST - 1] + "…"
