"""Both ears side by side for the client: what was seen first, what was done, what was seen after."""

from __future__ import annotations

from bridge.ear_words import EARS, Ear
from bridge.fhir.plain import Pair, merged, plain_pairs
from bridge.fhir.tell import ear
from bridge.fhir.tell.by_ear import Group, stage
from bridge.render.entries import Entries
from bridge.render.page import Block, Cell, Ears, Line, Lines, Row, Text
from bridge.shapes import Json
from bridge.wording import say

_ROWS = ("before", "done", "after")
_DONE = ("Procedure", "MedicationAdministration", "MedicationStatement", "Observation")
Told = dict[tuple[str, Ear], list[Pair]]


def both_ears(entries: Entries) -> list[Block]:
    """Two columns; a row of which neither ear says anything is left out, an ear of which nothing is written says so."""
    told: Told = {}
    for resource in entries.resources:
        row = _row_of(resource)
        side = ear(resource) if row else None
        if side:
            told.setdefault((row, side), []).extend(plain_pairs(resource))
    rows = [
        Row(row, say(f"copy.ears.{row}"), [Cell(side, _cell(told.get((row, side), []))) for side in EARS])
        for row in _ROWS
        if any(told.get((row, side)) for side in EARS)
    ]
    return [Ears((say("copy.ears.right"), say("copy.ears.left")), rows)] if rows else [Text(say("copy.ears.none"))]


def words_of(group: Group) -> list[Line]:
    return [Line(line.subject, line.words) for line in group.lines]


def _row_of(resource: Json) -> str:
    return stage(resource) or ("done" if resource["resourceType"] in _DONE else "")


def _cell(found: list[Pair]) -> list[Text | Lines]:
    if not found:
        return [Text(say("copy.ears.empty"), "quiet")]
    return [Lines([Line(about, words) for about, words in merged(found)])]
