"""The day of a visit: its moments as a record writes them, and dates before it."""

from __future__ import annotations

import random
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

Visit = dict[str, Any]
LONDON = ZoneInfo("Europe/London")


@dataclass(frozen=True)
class Day:
    """`start` in local time; everything else is told from it."""

    start: datetime

    def at(self, minutes: int) -> str:
        """The moment so many minutes after the visit began."""
        return (self.start + timedelta(minutes=minutes)).isoformat(timespec="minutes")

    def ago(self, days: int) -> str:
        """The day so many days before the visit; before it began for 0."""
        return (self.start.date() - timedelta(days=days)).isoformat()

    def ahead(self, days: int) -> str:
        return self.ago(-days)

    def month(self, days: int) -> str:
        return self.ago(days)[:7]

    def year(self, days: int) -> str:
        return self.ago(days)[:4]

    def born(self, years: int, days: int) -> str:
        """A birth date that makes somebody so many years old, and as many days, on the day of the visit."""
        born = self.start.date() - timedelta(days=days)
        day = min(born.day, 28)
        return date(born.year - years, born.month, day).isoformat()


def day_of(rng: random.Random) -> Day:
    """A working day with an appointment on a quarter of an hour."""
    first = date(2025, 1, 6) + timedelta(days=rng.randrange(0, 680))
    first -= timedelta(days=max(0, first.weekday() - 4))
    return Day(
        datetime(first.year, first.month, first.day, rng.randrange(9, 17), rng.choice((0, 15, 30, 45)), tzinfo=LONDON)
    )


def of_visit(visit: Visit) -> Day:
    """The day of a visit that is already written down."""
    return Day(datetime.fromisoformat(visit["start"]))


def measure(value: float, unit: str) -> dict[str, Any]:
    return {"value": value, "unit": unit}


def mm(value: float) -> dict[str, Any]:
    return measure(value, "mm")


def maybe(rng: random.Random, share: float, **fields: Any) -> dict[str, Any]:
    """The fields, in so many of the visits; a field that not everybody writes down."""
    return fields if rng.random() < share else {}


def some(rng: random.Random, things: list[Any] | tuple[Any, ...], least: int, most: int) -> list[Any]:
    """A few of the things, each once, in the order they stand in."""
    chosen = rng.sample(range(len(things)), min(len(things), rng.randint(least, most)))
    return [things[i] for i in sorted(chosen)]
