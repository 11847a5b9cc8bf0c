"""Days between moments that may be partial: each is a span from its first day to its last."""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Mapping
from datetime import date, timedelta
from functools import lru_cache

from bridge.check.clinical.answers import Answer
from bridge.moments import later

UNITS = ("days", "weeks", "months", "years")
_DAY = len("2026-11-03")
_FAR = 200 * 366
"""Days; longer than anything that a record tells of."""


@lru_cache(1024)
def span(moment: str) -> tuple[date, date]:
    """First and last day that a date of a record (`2010`, `2010-05`, `2010-05-03`, with a time) can mean."""
    year, month, day = (*(int(part) for part in moment.partition("T")[0].split("-")), 0, 0)[:3]
    if not month:
        return date(year or 1, 1, 1), date(year or 1, 12, 31)
    if not day:
        return date(year, month, 1), date(year, month, monthrange(year, month)[1])
    return date(year, month, day), date(year, month, day)


def before(day: date, length: Mapping[str, int]) -> date:
    """The day that lies so long before; the last of a shorter month."""
    day -= timedelta(days=min(length.get("days", 0) + 7 * length.get("weeks", 0), _FAR))
    months = day.year * 12 + day.month - 1 - length.get("months", 0) - 12 * length.get("years", 0)
    year, month = max(months // 12, 1), months % 12 + 1
    return date(year, month, min(day.day, monthrange(year, month)[1]))


def within(moment: str, start: str, length: Mapping[str, int]) -> Answer:
    """Whether a moment lies no longer before the start than so; not known where it could lie on either side."""
    first, last = span(moment)
    earliest, latest = (before(day, length) for day in span(start))
    return True if first >= latest else False if last < earliest else None


def longer_ago(moment: str, start: str, length: Mapping[str, int]) -> Answer:
    """Whether a moment lies so long before the start, or longer."""
    first, last = span(moment)
    earliest, latest = (before(day, length) for day in span(start))
    return True if last <= earliest else False if first > latest else None


def surely_later(one: str, other: str, days: int = 0) -> Answer:
    """Whether the first moment lies after the second, by more than so many days."""
    if not days and "T" in one and "T" in other:
        return later(one, other)
    day, other_day = one[:_DAY], other[:_DAY]
    if not days and len(day) == len(other_day) == _DAY:
        return day > other_day if day != other_day else None if "T" in one + other else False
    (first, last), (begin, end) = span(one), span(other)
    if (first - end).days > days:
        return True
    return False if (last - begin).days <= days else None


def age(born: str, day: str) -> tuple[int, int]:
    """The least and the greatest age in whole years on a day."""
    (first, last), (begin, end) = span(born), span(day)
    return _years(last, begin), _years(first, end)


def _years(born: date, day: date) -> int:
    return day.year - born.year - ((day.month, day.day) < (born.month, born.day))
