"""Dates and times of cells, and the moment that both are together in the clinic's zone."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

from bridge.layout.formats import Format, months, weekdays, without_day
from bridge.read.fault import CellError

_MIDNIGHT = re.compile(r"(?:T|\s+)0?0[:.]00(?:[:.]00(?:\.0+)?)?Z?$")
_OFFSET = re.compile(r"\s*(Z|[+-]\d\d:?\d\d)$")


@dataclass(frozen=True, slots=True)
class Time:
    """A time of day as precise as it was written; `offset` where the cell itself gives one."""

    text: str
    """HH:MM or HH:MM:SS."""
    offset: str = ""


def parse_date(text: str, formats: Sequence[Format], first_year: int | None, partial: bool) -> str:
    """The date as `2026-03-01`, or as much of it as is known where `partial`. Raises CellError."""
    text = _MIDNIGHT.sub("", text.strip())
    for way in formats:
        if found := way.pattern.fullmatch(text):
            return _date(found, way, partial)
    if partial:
        if re.fullmatch(r"[12]\d{3}", text):
            return text
        for way in formats:
            if (shorter := without_day(way)) and (found := shorter.pattern.fullmatch(text)):
                return _date(found, shorter, True)
    for way in formats:
        if way.short_year and (found := way.short_year.fullmatch(text)):
            if first_year is None:
                raise CellError("R103", "The year has two digits; which century is meant is not guessed.", "two digits")
            return _date(found, way, partial, first_year)
    wanted = ", ".join(f.text for f in formats)
    raise CellError("R102", f"This is not a date as the layout writes them ({wanted}).", wanted)


def _date(found: re.Match[str], format: Format, partial: bool, first_year: int | None = None) -> str:
    parts = found.groupdict()
    year = int(parts["year"])
    if first_year is not None:
        year += first_year - first_year % 100
        year += 100 if year < first_year else 0
    if "month" not in parts:
        return _known(f"{year:04}", partial, format)
    month = int(parts["month"]) if parts["month"].isdigit() else months().get(parts["month"].casefold(), 0)
    if not month:
        raise CellError("R102", "The month is not a month's name that is known.", "month")
    try:
        day = date(year, month, int(parts.get("day") or 1))
    except ValueError:
        raise CellError("R104", f"This is a day that does not exist, read as {format.text}.", format.text) from None
    if (word := parts.get("weekday")) is not None:
        _weekday(word.casefold(), day)
    return day.isoformat() if "day" in parts else _known(f"{year:04}-{month:02}", partial, format)


def _weekday(word: str, day: date) -> None:
    """Raises CellError where the day of the week is none, or another than that of the date."""
    known = weekdays().get(word)
    if known is None:
        raise CellError("R102", "The word before the date is not a day of the week that is known.", "weekday")
    if day.weekday() not in known:
        raise CellError("R104", "The day of the week and the date do not fit together.", "weekday")


def _known(text: str, partial: bool, format: Format) -> str:
    if not partial:
        raise CellError("R102", "The day is missing; this date has to be whole.", format.text)
    return text


def parse_time(text: str, formats: Sequence[Format]) -> Time:
    """The time of day; seconds only where they were written. Raises CellError."""
    text = text.strip()
    offset = ""
    if found := _OFFSET.search(text):
        offset = found[1] if found[1] == "Z" or ":" in found[1] else f"{found[1][:3]}:{found[1][3:]}"
        text = text[: found.start()]
    for way in formats:
        if found := way.pattern.fullmatch(text):
            return _time(found, offset)
    wanted = ", ".join(f.text for f in formats)
    raise CellError("R107", f"This is not a time as the layout writes them ({wanted}).", wanted)


def _time(found: re.Match[str], offset: str) -> Time:
    parts = {k: v for k, v in found.groupdict().items() if v}
    hour, minute, second = (int(parts.get(k, 0)) for k in ("hour", "minute", "second"))
    if half := parts.get("half"):
        if not 1 <= hour <= 12:
            raise CellError("R104", "This is a time that does not exist.", "time")
        hour = hour % 12 + (12 if half.lower() == "p" else 0)
    if hour > 23 or minute > 59 or second > 59:
        raise CellError("R104", "This is a time that does not exist.", "time")
    return Time(f"{hour:02}:{minute:02}" + (f":{second:02}" if "second" in parts else ""), offset)


@lru_cache(4096)
def moment(day: str, time: Time, zone: ZoneInfo) -> str:
    """Date and time with the zone's offset on that day: `2026-03-01T10:15+00:00`. Raises CellError.

    The hour that a clock change skips does not exist, and the one it repeats is two: neither is guessed.
    """
    if len(day) != 10:
        raise CellError("R102", "There is a time, but the date is not whole.", "time without date")
    if time.offset:
        return f"{day}T{time.text}{time.offset}"
    naive = datetime.fromisoformat(f"{day}T{time.text}")
    try:
        first, second = (naive.replace(tzinfo=zone, fold=fold).utcoffset() or timedelta() for fold in (0, 1))
    except OverflowError:
        raise CellError("R104", "This is a day that the calendar of time zones does not reach.", "zone") from None
    if first < second:
        raise CellError("R106", "This time does not exist: the clocks went forward over it that night.", f"{day}")
    if first > second:
        raise CellError("R105", "This time happened twice: the clocks went back that night.", f"{day}")
    seconds = int(first.total_seconds())
    if seconds % 60:
        raise CellError("R104", "This day is before time zones; a time cannot be placed on it.", "zone")
    sign, minutes = "-" if seconds < 0 else "+", abs(seconds) // 60
    return f"{day}T{time.text}{sign}{minutes // 60:02}:{minutes % 60:02}"


def parse_moment(
    text: str, dates: Sequence[Format], times: Sequence[Format], first_year: int | None
) -> tuple[str, Time | None]:
    """A cell that holds a date, or a date and a time with a blank, comma or T between. Raises CellError."""
    try:
        return parse_date(text, dates, first_year, True), None
    except CellError:
        both = _day_and_time(text.strip(), dates, times, first_year)
        if both is None:
            raise
        return both


def _day_and_time(
    text: str, dates: Sequence[Format], times: Sequence[Format], first_year: int | None
) -> tuple[str, Time] | None:
    """None where there is no place at which a date ends and a time begins."""
    for found in re.finditer(r"[\s,T]+", text):
        try:
            return parse_date(text[: found.start()], dates, first_year, False), parse_time(text[found.end() :], times)
        except CellError as error:
            if error.fault.rule not in ("R102", "R107"):
                raise
    return None
