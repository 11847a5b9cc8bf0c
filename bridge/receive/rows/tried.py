"""Which cell is to blame for what a row was read as, and what it says instead."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from typing import Any

from bridge.issues import Severity
from bridge.receive.rows.compare import said_otherwise
from bridge.receive.rows.drafts import RowDraft
from bridge.shapes import Reading
from bridge.visit import Visit, terms_of

Spot = tuple[int, int]
"""Row and column, from 0."""
_KEPT_ASIDE = frozenset(
    ("R113", "R114", "R115", "R116", "R117", "R138", "R160", "R161", "R162", "R164", "R166", "R167")
)
"""Rules by which words of a cell became a note, or were read in more than one way."""
_DENIED = ("absent", "suspected", "past")


def to_blame(
    reading: Reading, meant: Visit, rows: Sequence[RowDraft], first: int, coded: Callable[[Visit], Visit]
) -> tuple[set[Spot], list[str]]:
    """Cells of the rows that say something else than the visit, and fields for which no cell can be blamed.

    `first`: the number of the first row; `coded`: what the practice's words make of a visit, for whether a term is
    denied, doubted or past.
    """
    spots = set(_by_issues(reading, rows, first))
    if spots:
        return spots, []
    if reading.visit is None:
        return set(), ["the record as a whole"]
    astray = []
    for path in (*said_otherwise(reading.visit, meant), *_turned(coded(reading.visit), meant)):
        found = _filled(path, rows) or _from_place(reading, path, rows, first) or _beside(path, rows)
        if found:
            spots.add(found)
        else:
            astray.append(path)
    return spots, [] if spots else astray


def _by_issues(reading: Reading, rows: Sequence[RowDraft], first: int) -> Iterator[Spot]:
    for told in reading.issues:
        where = told.where
        if told.severity < Severity.error and told.rule not in _KEPT_ASIDE:
            continue
        if where.row and where.column and _standing(rows, spot := (where.row - first, where.column - 1)):
            yield spot


def _turned(read: Visit, meant: Visit) -> Iterator[str]:
    """Terms that the row's words alone would make denied, doubted, past or stated where the visit says otherwise."""
    here = dict(terms_of(read))
    for path, term in terms_of(meant):
        if path in here and term.assertion and here[path].text == term.text:
            said = here[path].assertion
            if said != term.assertion and (term.assertion in _DENIED or said in _DENIED):
                yield path


def _filled(path: str, rows: Sequence[RowDraft]) -> Spot | None:
    """The filled cell whose field the path is, or is most closely a part of."""
    best: tuple[int, Spot] | None = None
    for row, draft in enumerate(rows):
        for column, paths in enumerate(draft.paths):
            for own in paths:
                if (path == own or (path.startswith(own) and path[len(own)] in ".[")) and draft.texts[column]:
                    best = max(best or (0, (0, 0)), (len(own), (row, column)))
    return best[1] if best else None


def _from_place(reading: Reading, path: str, rows: Sequence[RowDraft], first: int) -> Spot | None:
    """The cell from which a field, or what it is part of, was read."""
    places: Any = getattr(reading.places, "spots", {})
    while path:
        if path in places and _standing(rows, spot := (places[path][0] - first, places[path][1] - 1)):
            return spot
        path = re.sub(r"(\.?[^.\[\]]+|\[\d+\])$", "", path)
    return None


def _beside(path: str, rows: Sequence[RowDraft]) -> Spot | None:
    """A filled cell about another field of the same thing: without it the thing is not there."""
    around = path.rpartition(".")[0]
    for row, draft in enumerate(rows):
        for column, paths in enumerate(draft.paths):
            if around and draft.texts[column] and any(own.startswith(f"{around}.") for own in paths):
                return row, column
    return None


def _standing(rows: Sequence[RowDraft], spot: Spot) -> bool:
    row, column = spot
    return 0 <= row < len(rows) and 0 <= column < len(rows[row].texts) and bool(rows[row].texts[column])
