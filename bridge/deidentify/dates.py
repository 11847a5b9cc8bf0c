"""Dates moved by whole weeks: days between two dates of a client, and the day of the week, stay as they were."""

from __future__ import annotations

from calendar import monthrange
from datetime import date, datetime, timedelta


def offset_of(when: str) -> timedelta:
    """The offset of a moment from UTC; none for a day, a month or a year."""
    if "T" not in when:
        return timedelta()
    return datetime.fromisoformat(when).utcoffset() or timedelta()


def moved(when: str, weeks: int, zone: timedelta, *, to_come: bool = False) -> str:
    """The date as precise as it was. Raises OverflowError before the year 1.

    Times are told as clock time at one offset, that of the visit's start, and without it: a summer offset beside a
    winter's day would show by how much the dates were moved. Of a month or a year the first day is moved, or the last
    one `to_come`, so that what was not after the visit is not after it now, and what was not before it is not before.
    """
    day, _, time = when.partition("T")
    if time:
        clock = datetime.fromisoformat(f"{day}T{time[:5]}") - offset_of(when) + zone + timedelta(weeks=weeks)
        return f"{clock:%Y-%m-%dT%H:%M}".rjust(16, "0") + f"{_seconds(time)}Z"
    parts = [int(part) for part in day.split("-")]
    month = parts[1] if len(parts) > 1 else 12 if to_come else 1
    last = parts[2] if len(parts) > 2 else monthrange(parts[0], month)[1] if to_come else 1
    return (date(parts[0], month, last) + timedelta(weeks=weeks)).isoformat()[: len(day)]


def _seconds(time: str) -> str:
    """Seconds as they stand behind hours and minutes, where they do."""
    return time[5:].rstrip("Z").partition("+")[0].partition("-")[0]
