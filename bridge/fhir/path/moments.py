"""Dates and times compared as far as both go. Source: https://hl7.org/fhirpath/N1/#datetime-equality, #comparison."""

from __future__ import annotations

import re
from decimal import Decimal
from functools import lru_cache
from typing import NamedTuple

from bridge.fhir.path.undecided import UndecidedError

_DATE = r"(?P<year>\d{4})(?:-(?P<month>\d\d)(?:-(?P<day>\d\d))?)?"
_TIME = r"(?P<hour>\d\d)(?::(?P<minute>\d\d)(?::(?P<second>\d\d(?:\.\d{1,20})?))?)?"
_ZONE = r"(?P<zone>Z|[+-]\d\d:\d\d)?"
_MOMENT = re.compile(rf"{_DATE}(?:T(?:{_TIME})?{_ZONE})?\Z")
_CLOCK = re.compile(rf"T?{_TIME}\Z")
_MOST = {"month": 12, "day": 31, "hour": 24, "minute": 59, "second": 59}
_ORDER = ("year", "month", "day", "hour", "minute", "second")


class Moment(NamedTuple):
    """The parts that are told, year first and seconds as a decimal; whether a time zone is, and a day."""

    parts: tuple[int | Decimal, ...]
    zoned: bool
    dated: bool


@lru_cache(4096)
def moment(text: str) -> Moment:
    """A date, a date with time, or a time (`12:30`, `T12`). Raises UndecidedError for anything else."""
    found = _MOMENT.match(text)
    clock = None if found else _CLOCK.match(text)
    if clock is not None:
        return Moment(_parts(clock, _ORDER[3:]), False, False)
    if found is None:
        raise UndecidedError
    parts = _parts(found, _ORDER)
    if 0 in parts[1:3]:
        raise UndecidedError
    zone = found["zone"]
    if zone and len(parts) >= 5 and zone != "Z":
        minutes = int(zone[1:3]) * 60 + int(zone[4:])
        parts = _moved(parts, -minutes if zone[0] == "+" else minutes)
    return Moment(parts, bool(zone), True)


def _parts(found: re.Match[str], names: tuple[str, ...]) -> tuple[int | Decimal, ...]:
    told = [(n, Decimal(found[n]) if n == "second" else int(found[n])) for n in names if found[n] is not None]
    if any(part > _MOST.get(n, 9999) and not (n == "second" and part < 61) for n, part in told):
        raise UndecidedError
    return tuple(part for _, part in told)


def _moved(parts: tuple[int | Decimal, ...], minutes: int) -> tuple[int | Decimal, ...]:
    from datetime import datetime, timedelta

    try:
        year, month, day, hour, minute = (int(part) for part in parts[:5])
        start = datetime(year, month, day, hour, minute) + timedelta(minutes=minutes)
    except (ValueError, OverflowError):
        raise UndecidedError from None
    return (start.year, start.month, start.day, start.hour, start.minute, *parts[5:])


def order(left: str, right: str) -> int | None:
    """-1, 0 or 1; None where they agree as far as the coarser one goes, or only one tells its time zone."""
    one, other = moment(left), moment(right)
    if one.dated != other.dated:
        raise UndecidedError
    if one.zoned != other.zoned and min(len(one.parts), len(other.parts)) > 3:
        return None
    for mine, its in zip(one.parts, other.parts, strict=False):
        if mine != its:
            return -1 if mine < its else 1
    return 0 if len(one.parts) == len(other.parts) else None
