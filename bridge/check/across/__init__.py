"""Visits held against each other: what is known only when several were read, as in `read/ledger.py`.

Little memory: hashes, days and places, of which no name and no text can be read back.
"""

from __future__ import annotations

from bridge.check.across.identity import who
from bridge.check.across.lasting import Lasting
from bridge.check.across.notes import Notes
from bridge.check.across.sides import Sides
from bridge.hash_table import short_hash
from bridge.issues import Issue, Where
from bridge.places_met import PlacesMet
from bridge.visit import Visit


class AcrossVisits:
    """Takes each coded visit of a run, in any order, and tells what it contradicts among those before it (C580-C588).

    The order decides at which of two visits a clash is told, and never whether it is told. Versions of one visit
    do not contradict each other.
    """

    def __init__(self) -> None:
        self._places = PlacesMet()
        self._parts = Notes(), Lasting(), Sides()

    def enter(self, visit: Visit, where: Where = Where()) -> list[Issue]:
        """Issues of this visit against those before it, with the path of the field; `where` is the record's place."""
        at = self._places.number(where)
        same = who(visit, short_hash("visit", visit.number.casefold()), lambda first: self._places.told(first, where))
        found = [one for part in self._parts for one in part.enter(visit, same, at)]
        return [one.at(record=visit.number) for one in found]
