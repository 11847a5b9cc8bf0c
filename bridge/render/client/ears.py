"""Both ears side by side for the client: what was seen first, what was done, what was seen after."""

from __future__ import annotations

from collections.abc import Callable

from bridge.ear_words import EARS, Ear
from bridge.fhir.plain import Pair, merged, plain_pairs
from bridge.fhir.tell import ear
from bridge.fhir.tell.by_ear import Group, stage
from bridge.render.entries import Entries
from bridge.render.page import Block, Cell, Ears, Line, Lines, Row, Text
from bridge.shapes import Json
from bridge.wording import say

_DONE = ("Procedure", "MedicationAdministration", "MedicationStatement")


def both_ears(entries: Entries) -> list[Block]:
    """Two columns; a row of which neither ear says anything is left out, an ear of which nothing is written says so."""
    rows = [
        _row("before", entries, lambda r: stage(r) == "before"),
        _row("done", entries, lambda r: not stage(r) and r["resourceType"] in (*_DONE, "Observation")),
        _row("after", entries, lambda r: stage(r) == "after"),
    ]
    told = [row for row in rows if any(cell.blocks for cell in row.cells)]
    if not told:
        return [Text(say("copy.ears.none"))]
    for row in told:
        for cell in row.cells:
            cell.blocks = cell.blocks or [Text(say("copy.ears.empty"), "quiet")]
    return [Ears((say("copy.ears.right"), say("copy.ears.left")), told)]


def words_of(group: Group) -> list[Line]:
    return [Line(line.subject, line.words) for line in group.lines]


def _row(key: str, entries: Entries, fits: Callable[[Json], bool]) -> Row:
    return Row(key, say(f"copy.ears.{key}"), [Cell(side, _cell(entries, side, fits)) for side in EARS])


def _cell(entries: Entries, side: Ear, fits: Callable[[Json], bool]) -> list[Text | Lines]:
    found: list[Pair] = [p for r in entries.resources if ear(r) == side and fits(r) for p in plain_pairs(r)]
    return [Lines([Line(about, words) for about, words in merged(found)])] if found else []
