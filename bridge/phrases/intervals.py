"""How long until: 6/12 is six months in the trade's notes, never a date and never a score."""

from __future__ import annotations

import re

_SLASH = {"12": "mo", "52": "wk", "7": "d", "24": "h"}
_WORDS = {
    "d": "d", "day": "d", "days": "d", "w": "wk", "wk": "wk", "wks": "wk", "week": "wk", "weeks": "wk", "m": "mo",
    "mo": "mo", "mth": "mo", "mths": "mo", "month": "mo", "months": "mo", "y": "a", "yr": "a", "yrs": "a", "year": "a",
    "years": "a",
}  # fmt: skip
_NUMBERS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
_FRACTION = re.compile(r"(?<![\d/.:-])(\d{1,2})\s?/\s?(12|52|7|24)(?![\d/.:]|-\d)")
_SPELT = re.compile(
    rf"(?<![\d/.:-])\b(\d{{1,3}}|{'|'.join(_NUMBERS)})[\s-]?({'|'.join(sorted(_WORDS, key=len, reverse=True))})\b",
    re.IGNORECASE,
)
_RANGE = re.compile(r"\d\s*(?:-|–|to|or)\s*\d", re.IGNORECASE)


def interval(text: str) -> tuple[int, str] | None:
    """The one interval that a text names, as a number and a UCUM unit: "RTC 6/12" is (6, "mo").

    None where it names none, several different ones or a range ("3-6/12"), and for dates such as 2/12/2024.
    """
    if _RANGE.search(text):
        return None
    found = {(int(n), _SLASH[d]) for n, d in _FRACTION.findall(text)}
    for number, unit in _SPELT.findall(text):
        value = _NUMBERS.index(number.lower()) + 1 if number.isalpha() else int(number)
        found.add((value, _WORDS[unit.lower()]))
    return found.pop() if len(found) == 1 and next(iter(found))[0] > 0 else None
