"""Dates and times written the way a layout says, so that the same layout reads them back."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date

from bridge.layout.formats import Format, without_day

_DATE = re.compile(r"yyyy|yy|mmmm|mmm|mm|m|dddd|ddd|dd|d|\s+|.", re.IGNORECASE)
_TIME = re.compile(r"HH|H|MM|M|SS|S|am/pm|\s+|.", re.IGNORECASE)
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_SERIAL_START = {1900: date(1899, 12, 30), 1904: date(1904, 1, 1)}


def written_dates(day: str, formats: Sequence[Format], serial: int = 0) -> list[str]:
    """`2026-03-01`, or as much of it as is known, in each format that can hold it; the year alone stands as it is."""
    if len(day) == 4:
        return [day]
    ways = [f if len(day) == 10 else without_day(f) for f in formats]
    found = [text for way in ways if way and (text := _date(way, day)) and way.pattern.fullmatch(text)]
    if len(day) == 10 and serial in _SERIAL_START:
        found.append(str((date.fromisoformat(day) - _SERIAL_START[serial]).days))
    return found


def written_times(clock: str, formats: Sequence[Format]) -> list[str]:
    """`10:15` or `10:15:30` in each format that is as precise as it is."""
    parts = clock.split(":")
    ways = [f for f in formats if ("second" in f.parts) == (len(parts) == 3)]
    return [text for way in ways if way.pattern.fullmatch(text := _time(way, parts))]


def _date(way: Format, day: str) -> str:
    year, month, number = (int(part) for part in f"{day}-01"[:10].split("-"))
    said = {
        "yyyy": f"{year:04}", "yy": "", "mmmm": _MONTHS[month - 1], "mmm": _MONTHS[month - 1],
        "mm": f"{month:02}", "m": str(month), "dd": f"{number:02}", "d": str(number),
    }  # fmt: skip
    weekday = _DAYS[date(year, month, number).weekday()]
    tokens = [t.lower() for t in _DATE.findall(way.text.strip())]
    return "" if "yy" in tokens else "".join(weekday if t in ("ddd", "dddd") else said.get(t, t) for t in tokens)


def _time(way: Format, parts: list[str]) -> str:
    hour, minute = int(parts[0]), parts[1]
    half = "half" in way.parts
    shown = (hour % 12 or 12) if half else hour
    told = []
    for token in _TIME.findall(way.text.strip()):
        folded = token.lower()
        if folded == "am/pm":
            told.append("pm" if hour >= 12 else "am")
        elif folded in ("hh", "h") and not any(t.isdigit() for t in told):
            told.append(f"{shown:02}" if folded == "hh" else str(shown))
        elif folded in ("mm", "m"):
            told.append(minute)
        elif folded in ("ss", "s"):
            told.append(parts[2])
        else:
            told.append(token)
    return "".join(told)
