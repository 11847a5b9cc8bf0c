"""Which letters a person asked for: by number of the visit, number of the client, day."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING

from bridge.issues import Issue, Where, issue

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from bridge.about_document import About
    from bridge.pipeline import Conversion
    from bridge.visit import Visit

_TOLD = {
    "visits": "has the number asked for",
    "clients": "is of a client with the number asked for",
    "days": "was on the day asked for",
}


@dataclass(slots=True)
class Chosen:
    """Several of one kind mean any of them; of several kinds each must fit. Capitals in numbers do not count."""

    visits: tuple[str, ...] = ()
    clients: tuple[str, ...] = ()
    days: tuple[str, ...] = ()
    seen: int = 0
    """Visits and documents that were looked at."""
    taken: int = 0
    _met: set[tuple[str, str]] = field(default_factory=set)

    def __bool__(self) -> bool:
        return bool(self.visits or self.clients or self.days)

    def visit(self, visit: Visit, zone: ZoneInfo) -> bool:
        """Whether the visit is asked for; its day is that of the clinic's own clock."""
        client = visit.client.number
        return self._takes((visit.number,), (client,) if client else (), (_local_day(visit.start, zone),))

    def document(self, said: About) -> bool:
        """Whether a document is asked for; its day is as it says."""
        return self._takes((*said.visits, said.number), said.clients, said.days)

    def record(self, conversion: Conversion) -> bool:
        """Whether what became of a record is to be told; of one that is no visit only where its number was named."""
        if conversion.visit is not None or conversion.state == "left alone":
            return conversion.state != "not asked for"
        number = conversion.where.record.casefold()
        if number not in {asked.casefold() for asked in self.visits}:
            return False
        self._met.add(("visits", number))
        self.taken += 1
        return True

    def missing(self) -> list[Issue]:
        """D176 for each thing asked for that nothing has, or where nothing is all that was asked for."""
        found = []
        of = f"Of {self.seen} {'visit' if self.seen == 1 else 'visits'} looked at, none"
        for kind, told in _TOLD.items():
            for value in getattr(self, kind):
                if (kind, value.casefold()) not in self._met:
                    where = Where(record=value if kind == "visits" else "")
                    found.append(issue("D176", f"{of} {told}.", where, cause=f"D176:{kind}"))
        if self and not found and not self.taken:
            found.append(issue("D176", f"{of} is all that was asked for.", cause="D176:all"))
        return found

    def _takes(self, visits: Iterable[str], clients: Iterable[str], days: Iterable[str]) -> bool:
        self.seen += 1
        fits = True
        for kind, values in (("visits", visits), ("clients", clients), ("days", days)):
            asked = {value.casefold() for value in getattr(self, kind)}
            met = asked & {value.casefold() for value in values}
            self._met |= {(kind, value) for value in met}
            fits = fits and (bool(met) or not asked)
        self.taken += fits
        return fits


def _local_day(start: str, zone: ZoneInfo) -> str:
    """As much of the day as is known."""
    if "T" not in start:
        return start
    return datetime.fromisoformat(start).astimezone(zone).date().isoformat()
