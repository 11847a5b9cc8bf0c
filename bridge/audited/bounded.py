"""What an audit remembers of visits that it has read, in tables that do not grow with their number."""

from __future__ import annotations

from bridge.audited.met import Met
from bridge.check.across.identity import who
from bridge.check.across.notes import Notes
from bridge.hash_table import short_hash
from bridge.issues import Issue, Where
from bridge.places_met import PlacesMet
from bridge.read.ledger import Ledger
from bridge.visit import Visit

MOST_VISITS = 100_000
"""Visits after which long notes are forgotten, so that a note is held against those of about as many."""


class Once(Ledger):
    """Knows a record that stands there twice, word for word, so that it counts once; of clients it knows nothing."""

    def __init__(self) -> None:
        super().__init__()
        self._met = Met()

    def repeats(self, visit: Visit, where: Where) -> bool:
        """Whether the same record stood before this one."""
        source = visit.source_sha256 or f"{where.file} {where.sheet} {where.row}"
        return not self._met.add(short_hash(visit.number.casefold(), str(visit.version), source))

    def enter(self, visit: Visit, where: Where, *, made: bool = False, said: str = "") -> list[Issue]:
        """Nothing: two clients under one number are no matter of coding."""
        return []


class CopiedNotes:
    """C580 and C581 over the visits of one run."""

    def __init__(self) -> None:
        self._notes, self._places, self._visits = Notes(), PlacesMet(), 0

    def enter(self, visit: Visit, where: Where) -> list[Issue]:
        """Issues of long notes that another visit has, word for word."""
        if self._visits >= MOST_VISITS:
            self._notes, self._visits = Notes(), 0
        self._visits += 1
        same = who(visit, short_hash("visit", visit.number.casefold()), lambda at: self._places.told(at, where))
        return list(self._notes.enter(visit, same, self._places.number(where)))
