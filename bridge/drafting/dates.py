"""How dates and times are written in a sheet: found out from all cells, and proven or asked."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import lru_cache

from bridge.layout.formats import months, weekdays

_WEEKDAY = re.compile(r"([^\W\d_]{2,}(?:-feira)?)(\.?,?\s+)(?=\d)")
_TIME = re.compile(
    r"(?:T|,?\s+|\s*/\s*)(?P<time>\d{1,2}(?:[:.]|\s?h\s?)\d{2}(?::\d{2})?(?:\s*[ap]\.?m\.?)?)(?:\.\d+)?(?:Z|[+-]\d\d:?\d\d)?$",
    re.IGNORECASE,
)
_NUMBERS = re.compile(r"(\d{1,2})([-/. ])(\d{1,2})\2(\d{4}|\d{2})")
_ISO = re.compile(r"(\d{4})([-/.])(\d{1,2})\2(\d{1,2})")
_NAMED = re.compile(r"(\d{1,2})(\.?[-/ .]*|\. ?)([^\W\d_]{3,}\.?)([-/ ,.]*)(\d{4}|\d{2})")
_MONTH_FIRST = re.compile(r"([^\W\d_]{3,}\.?)([-/ .]*)(\d{1,2})(,? )(\d{4}|\d{2})")
_CLOCKS = (
    (re.compile(r"\d{1,2}:\d{2}"), "HH:MM"),
    (re.compile(r"\d{1,2}:\d{2}:\d{2}"), "HH:MM:SS"),
    (re.compile(r"\d{1,2}\.\d{2}"), "HH.MM"),
    (re.compile(r"\d{1,2}h(?:\d{2})?"), "HHhMM"),
    (re.compile(r"\d{1,2} h (?:\d{2})?"), "HH h MM"),
    (re.compile(r"\d{1,2}:\d{2} ?(?:Uhr|uur)"), "HH:MM Uhr"),
    (re.compile(r"\d{1,2}:\d{2}\s*[ap]\.?m\.?", re.IGNORECASE), "h:mm am/pm"),
    (re.compile(r"\d{1,2}\.\d{2}\s*[ap]\.?m\.?", re.IGNORECASE), "h.mm am/pm"),
)
SERIAL_DAYS = (7_000, 73_000)
"""Bare numbers that can be the day numbers of a spreadsheet: 1919 to 2099."""


@dataclass(frozen=True, slots=True)
class Seen:
    """One date as it is written. `numbers`: day and month in the order written, where the order is open."""

    format: str
    """With `?` for day and month in either order."""
    year: int
    numbers: tuple[int, int] | None = None
    short: bool = False
    time: str = ""
    day: date | None = None
    """Where it can be told without knowing the order."""
    weekday: str = ""


@lru_cache(65_536)
def read_date(text: str) -> Seen | None:
    """How a cell writes a date, or None. No order of day and month is assumed."""
    if (found := _WEEKDAY.match(text)) and found[1].casefold() in weekdays():
        rest = read_date(text[found.end() :])
        return rest and replace(rest, weekday=found[1].casefold(), format=f"ddd{found[2].lstrip('.')}{rest.format}")
    time = ""
    if (found := _TIME.search(text)) and found.start() >= 6:
        time, text = found["time"], text[: found.start()]
    if len(text) == 8 and text.isdigit() and text[:2] in ("19", "20"):
        made = _day(int(text[:4]), int(text[4:6]), int(text[6:]))
        return Seen("yyyymmdd", int(text[:4]), None, False, time, made) if made else None
    if found := _ISO.fullmatch(text):
        year, month, day = int(found[1]), int(found[3]), int(found[4])
        made = _day(year, month, day)
        return Seen(f"yyyy{found[2]}mm{found[2]}dd", year, None, False, time, made) if made else None
    if found := _NUMBERS.fullmatch(text):
        first, second, sign = int(found[1]), int(found[3]), found[2]
        if not (1 <= first <= 31 and 1 <= second <= 31 and min(first, second) <= 12):
            return None
        return Seen(f"?{sign}?{sign}yyyy", int(found[4]), (first, second), len(found[4]) == 2, time)
    if (found := _NAMED.fullmatch(text)) and found[3].rstrip(".").casefold() in months():
        form = f"d{found[2]}mmm{found[4]}yyyy"
        return _named(form, found[1], found[3], found[5], time)
    if (found := _MONTH_FIRST.fullmatch(text)) and found[1].rstrip(".").casefold() in months():
        form = f"mmm{found[2]}d{found[4]}yyyy"
        return _named(form, found[3], found[1], found[5], time)
    return None


def _named(form: str, day: str, month: str, year: str, time: str) -> Seen | None:
    number = months()[month.rstrip(".").casefold()]
    short = len(year) == 2
    made = _day(2000 if short else int(year), number, int(day))
    return Seen(form, int(year), None, short, time, None if short else made) if made else None


def _day(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


def is_date(text: str) -> bool:
    return read_date(text) is not None


def is_serial(text: str) -> bool:
    """A day number of a spreadsheet, perhaps."""
    return text.isdigit() and len(text) == 5 and SERIAL_DAYS[0] <= int(text) <= SERIAL_DAYS[1]


def is_partial(text: str) -> bool:
    """A year, or a month of a year."""
    return re.fullmatch(r"(19|20)\d\d", text) is not None or re.fullmatch(r"\d{1,2}[/.-](19|20)\d\d", text) is not None


def clock(text: str) -> str:
    """The format of a time of day, or nothing."""
    for pattern, form in _CLOCKS:
        if pattern.fullmatch(text) and int(re.match(r"\d+", text)[0]) < 24:  # type: ignore[index]
            return form
    return ""


@dataclass(slots=True)
class Ways:
    """How the dates of several columns are written."""

    formats: list[str] = field(default_factory=list)
    open: list[str] = field(default_factory=list)
    """The formats that it could be, where the order of day and month is not proven or contradicts itself."""
    why: str = ""
    times: list[str] = field(default_factory=list)
    short_years: bool = False


def ways(columns: Iterable[Counter[str]]) -> Ways:
    """The formats of all dates in these columns. The order of day and month is proven by a number over 12, or asked."""
    counts: Counter[str] = Counter()
    times: Counter[str] = Counter()
    proof: dict[str, set[str]] = {}
    short = False
    for cells in columns:
        for text, n in cells.items():
            if is_serial(text):
                counts["serial"] += n
            elif seen := read_date(text):
                counts[seen.format] += n
                short = short or seen.short
                if seen.time and (form := clock(seen.time)):
                    times[form] += n
                if seen.numbers and seen.numbers[0] != seen.numbers[1]:
                    known = proof.setdefault(seen.format, set())
                    if max(seen.numbers) > 12:
                        known.add("day first" if seen.numbers[0] > 12 else "month first")
                    elif order := _by_weekday(seen):
                        known.add(order)
    made = Ways(short_years=short, times=[t for t, _ in sorted(times.items(), key=lambda p: (-p[1], p[0]))])
    orders = {order for known in proof.values() for order in known}
    told = []
    for form, _ in sorted(counts.items(), key=lambda p: (-p[1], p[0])):
        if "?" not in form:
            made.formats.append(form)
            continue
        both = [_ordered(form, order) for order in ("day first", "month first")]
        known = proof.get(form, set())
        if len(known) == 1 and len(orders) == 1:
            order = next(iter(known))
            made.formats.append(_ordered(form, order))
            shown = "the day of the week shows that the day" if form.startswith("ddd") else "a day over 12"
            told.append(f"{shown} stands {'first' if order == 'day first' else 'second'}")
        else:
            made.open += both
            told.append(
                "some have the day first, some the month" if len(orders) > 1 else "no day over 12 shows the order"
            )
    made.why = "; ".join(dict.fromkeys(told)) or ("one way only" if made.formats else "")
    return made


def _by_weekday(seen: Seen) -> str:
    """The order that the day of the week proves: 11/05/2026 is a Monday one way only."""
    if not seen.weekday or seen.numbers is None or seen.short:
        return ""
    first, second = seen.numbers
    days = {"day first": _day(seen.year, second, first), "month first": _day(seen.year, first, second)}
    fit = [order for order, day in days.items() if day and day.weekday() in weekdays().get(seen.weekday, ())]
    return fit[0] if len(fit) == 1 else ""


def _ordered(form: str, order: str) -> str:
    first, second = ("dd", "mm") if order == "day first" else ("mm", "dd")
    return form.replace("?", first, 1).replace("?", second, 1)


def years(cells: Counter[str]) -> list[tuple[int, bool]]:
    """Years of a column's dates, and whether each has two digits only."""
    found = []
    for text in cells:
        if is_serial(text):
            found.append(((date(1899, 12, 30) + timedelta(int(text))).year, False))
        elif seen := read_date(text):
            found.append((seen.year, seen.short))
    return found


def first_year(latest: int, births: Iterable[Counter[str]]) -> tuple[str, str]:
    """The first of the hundred years that two digits mean, and why; empty where there is no telling.

    `latest`: the year of the last visit, 0 where none is known. Nobody is born after it, and hardly anybody is older
    than 110.
    """
    if not latest:
        return "", "there are no visits to reckon from"
    born = sorted({year for cells in births for year, short in years(cells) if short})
    doubtful = [y for y in born if latest - 10 <= 2000 + y <= latest]
    if doubtful:
        return "", "two digits of a birth year could be a child or somebody over 100"
    old = [1900 + y for y in born if 2000 + y > latest]
    first = min([latest - 97, *old])
    return str(first), f"nobody is born after the last visit ({latest}); change it when years after {first + 99} come"
