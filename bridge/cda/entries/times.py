"""When it was, and who wrote it down when."""

from __future__ import annotations

from typing import Any

from bridge.cda.context import Context
from bridge.cda.entries.act import Act
from bridge.cda.entries.place import Told
from bridge.cda.entries.seen import Seen
from bridge.cda.entries.tables import Row
from bridge.cda.values import is_interval, ivl_ts, period_of, time_of, ts, when_of
from bridge.cda.xml import one


class Time:
    """A moment or a period, as the element is one or the other."""

    def write(self, act: Act, row: Row, told: Told) -> None:
        value = told.at(row)
        if isinstance(value, str):
            act.add(ts("effectiveTime", value))
        elif isinstance(value, dict):
            act.add(act.timed(ivl_ts("effectiveTime", value)))

    def read(self, seen: Seen, row: Row, context: Context) -> Any:
        found = seen.first("effectiveTime")
        if found is None or (row.element is not None and row.element.type == "Period") != is_interval(found):
            return None
        return period_of(found) if is_interval(found) else time_of(found)


class End:
    """One end of the act's time, where each is an element of its own."""

    def __init__(self, end: str) -> None:
        self.end = end

    def write(self, act: Act, row: Row, told: Told) -> None:
        setattr(act, self.end, told.at(row))

    def read(self, seen: Seen, row: Row, context: Context) -> Any:
        end = one(seen.first("effectiveTime"), self.end)
        return None if end is None else when_of(end.get("value"))


class Authored:
    """When the author wrote it; CDA has no place for that without an author."""

    def write(self, act: Act, row: Row, told: Told) -> None:
        act.authored = told.at(row)

    def read(self, seen: Seen, row: Row, context: Context) -> Any:
        return time_of(one(seen.first("author"), "time"))
