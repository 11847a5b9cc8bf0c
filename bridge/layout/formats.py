"""How a layout says that dates and times are written: `dd/mm/yyyy`, `ddd d.m.yy`, `HH.MM`, `HHhMM`, `h:mm am/pm`."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from bridge.errors import MappingError
from bridge.layout.tables import cell_words

_DATE = re.compile(r"yyyy|yy|mmmm|mmm|mm|m|dddd|ddd|dd|d|\s+|.", re.IGNORECASE)
_TIME = re.compile(r"HH|H|MM|M|SS|S|am/pm|\s+|.", re.IGNORECASE)
_H = "[h]"


@dataclass(frozen=True, slots=True)
class Format:
    """One way of writing a date or a time."""

    text: str
    pattern: re.Pattern[str]
    parts: tuple[str, ...]
    """year, month, day, hour, minute, second, half: in the order written."""
    short_year: re.Pattern[str] | None = None
    """The same with two digits for the year."""


@cache
def months() -> dict[str, int]:
    """Names of months by their number. Raises MappingError where a name is that of two months."""
    found: dict[str, int] = {}
    for kind, words in cell_words().items():
        for word in sorted(words) if kind.isdigit() else ():
            if found.setdefault(word, int(kind)) != int(kind):
                raise MappingError(f"In cell-words.csv, “{word}” is the name of two months.")
    return found


@cache
def weekdays() -> dict[str, frozenset[int]]:
    """Names of the days of the week and the days they stand for, Monday 0: `ma` is Monday or Tuesday."""
    found: dict[str, set[int]] = {}
    for kind, words in cell_words().items():
        if kind.startswith("day "):
            for word in words:
                found.setdefault(word, set()).add(int(kind.removeprefix("day ")) - 1)
    return {word: frozenset(days) for word, days in found.items()}


@cache
def date_format(text: str) -> Format:
    """A date's format; a date in it may lack leading zeros. Raises ValueError with what is wrong."""
    tokens = _DATE.findall(text.strip())
    parts = tuple(p for t in tokens if (p := _date_part(t)))
    if len(set(parts)) != len(parts) or "year" not in parts:
        raise ValueError("needs a year (yyyy), and month (mm) and day (dd) at most once")
    if "day" in parts and "month" not in parts:
        raise ValueError("has a day without a month")
    short = "yy" in [t.lower() for t in tokens]
    four = None if short else _compile([_date_piece(t, tokens, i, 4) for i, t in enumerate(tokens)])
    two = _compile([_date_piece(t, tokens, i, 2) for i, t in enumerate(tokens)])
    return Format(text, four or _compile(["(?P<year>[0-9]{4})(?!)"]), parts, two)


@cache
def without_day(format: Format) -> Format | None:
    """The same format for a month alone (`mm/yyyy` from `dd/mm/yyyy`), for fields that take partial dates."""
    tokens = _DATE.findall(format.text.strip())
    at = next((i for i, t in enumerate(tokens) if _date_part(t) == "day"), None)
    if at is None or any(t.lower() == "yy" for t in tokens):
        return None
    last = at == len(tokens) - 1
    rest = tokens[: at - 1] if last else tokens[:at] + tokens[at + 2 :]
    try:
        return date_format("".join(rest))
    except ValueError:
        return None


@cache
def time_format(text: str) -> Format:
    """A time's format. Raises ValueError with what is wrong."""
    tokens = _letter_h(_TIME.findall(text.strip()))
    parts = tuple(p for t in tokens if (p := _time_part(t)))
    if len(set(parts)) != len(parts) or not {"hour", "minute"} <= set(parts):
        raise ValueError("needs hours (HH) and minutes (MM), each once")
    return Format(text, _compile([_time_piece(t, tokens, i) for i, t in enumerate(tokens)]), parts)


def _letter_h(tokens: list[str]) -> list[str]:
    """In `HHhMM` the second h is a letter that stands between hours and minutes; nothing may follow it (`10h`)."""
    at = next((i for i, t in enumerate(tokens) if t.lower() in ("h", "hh")), len(tokens))
    return [_H if t == "h" and i > at else t for i, t in enumerate(tokens)]


def clash(formats: tuple[Format, ...]) -> tuple[Format, Format] | None:
    """Two formats by which one text could be two dates (`dd/mm/yyyy` and `mm/dd/yyyy`)."""
    for at, one in enumerate(formats):
        for other in formats[at + 1 :]:
            if one.parts != other.parts and _shape(one.text) == _shape(other.text):
                return one, other
    return None


def _shape(text: str) -> str:
    return re.sub(r"(?i)yyyy", "Y", re.sub(r"(?i)mmm+", "W", text)).lower().replace("m", "d").replace("dd", "d")


def _date_part(token: str) -> str:
    if token.lower().startswith("ddd"):
        return "weekday"
    return {"y": "year", "m": "month", "d": "day"}.get(token[0].lower(), "") if token.isalpha() else ""


def _time_part(token: str) -> str:
    if token.lower() == "am/pm":
        return "half"
    return {"h": "hour", "m": "minute", "s": "second"}.get(token[0].lower(), "") if token.isalpha() else ""


def _digits(tokens: list[str], at: int, part: str) -> str:
    """Two digits where the neighbour is a number too, otherwise one or two."""
    beside = [tokens[i] for i in (at - 1, at + 1) if 0 <= i < len(tokens)]
    return f"(?P<{part}>[0-9]{{2}})" if any(t.isalpha() for t in beside) else f"(?P<{part}>[0-9]{{1,2}})"


def _date_piece(token: str, tokens: list[str], at: int, year: int) -> str:
    part = _date_part(token)
    if part == "year":
        return f"(?P<year>[0-9]{{{year}}})"
    if part == "weekday":
        return "(?P<weekday>[^\\W\\d_][^\\W\\d_-]*(?:-feira)?)\\.?,?"
    if token.lower().startswith("mmm"):
        return "(?P<month>[^\\W\\d_]+)\\.?"
    return _digits(tokens, at, part) if part else _literal(token)


def _time_piece(token: str, tokens: list[str], at: int) -> str:
    part = _time_part(token)
    if part == "half":
        return r"\s*(?P<half>[ap])\.?m?\.?"
    if part == "minute" and _H in tokens[:at]:
        return "(?P<minute>[0-9]{2})?"
    if part in ("minute", "second"):
        return f"(?P<{part}>[0-9]{{2}})"
    if token == _H:
        return "h"
    return _digits(tokens, at, part) if part else _literal(token)


def _literal(token: str) -> str:
    return r"\s*" if token.isspace() else re.escape(token)


def _compile(pieces: list[str]) -> re.Pattern[str]:
    return re.compile("".join(pieces), re.IGNORECASE)
