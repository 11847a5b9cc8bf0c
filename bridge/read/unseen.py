"""Words of a cell that say that a part of the ear could not be seen, from `mappings/words/not-seen.csv`."""

from __future__ import annotations

import re
from functools import cache

from bridge.data import load_csv, table_path
from bridge.phrases.tables import tidy
from bridge.phrases.vocabulary import knows_itself

_COLUMNS = {"drum": ("drum",), "canal": ("drum", "canal"), "wax": ("drum", "wax"), "view": ("drum", "canal")}
"""Columns by the last name of their field, and the parts that such words may be about there."""
_ALONE = ("drum", "canal", "view")
"""Columns in which the words need not say what they are about."""


def unseen(column: str, words: str) -> tuple[str, str] | None:
    """The part that the whole of the words says was not seen, and the answer: `("drum", "not seen (wax)")`.

    The part is the column's own where the words name none. None for other words, and where what follows is no short
    plain reason.
    """
    if column not in _COLUMNS:
        return None
    for part in _COLUMNS[column]:
        if (found := _matched(_pattern(part), words)) is not None:
            return (column if column == "view" else part), _answer(found)
    if column in _ALONE and (found := _matched(_pattern(""), words)) is not None:
        return column, _answer(found)
    return None


def how_seen(column: str, words: str) -> tuple[str, str] | None:
    """How much of the drum the whole of the words says was seen, whole or partly, and why only partly ("" unsaid)."""
    if column != "drum":
        return None
    for answer in ("whole", "partly"):
        reason = _matched(_how(answer), words)
        if reason is not None and (not reason or answer == "partly"):
            return answer, reason
    return None


def _matched(pattern: re.Pattern[str], words: str) -> str | None:
    """The reason in words that say that something was not seen, or was seen partly ("" unsaid); None for other words.

    Behind a mark stands a reason only where it is known as one: "TM not seen, perf" says two things.
    """
    text = tidy(words).rstrip(".!")
    found = pattern.fullmatch(text.casefold()) if len(text.casefold()) == len(text) else None
    if not found or not found["reason"]:
        return "" if found else None
    reason = text[found.start("reason") : found.end("reason")]
    return reason if found["join"][-1].isalpha() or knows_itself("view-reason", reason) else None


def _answer(reason: str) -> str:
    return f"not seen ({reason})" if reason else "not seen"


_REASON = r"(?: ?(?P<join>{}) ?(?P<reason>[^,;:()?!\d]{{2,60}}?)\)?)?"


@cache
def _pattern(part: str) -> re.Pattern[str]:
    rows = _rows()
    after, before, joins = (_any(rows[name]) for name in ("after", "before", "reason"))
    what = f"(?:the )?{_any(rows[part])}" if part else ""
    first = rf"{what} ?[:-]? ?(?:is |was |are |were )?{after}" if part else after
    second = rf"{before} (?:of )?{what}" if part else before
    return re.compile(rf"(?:{first}|{second}){_REASON.format(joins)}")


@cache
def _how(answer: str) -> re.Pattern[str]:
    rows = _rows()
    drum, how, seen, joins = (_any(rows[name]) for name in ("drum", answer, "seen", "reason"))
    first = rf"(?:the )?{drum} ?[:-]? ?(?:is |was )?{how} {seen}"
    second = rf"{how} (?:view|sight) of (?:the )?{drum}|{how} (?:of )?(?:the )?(?:{drum} )?{seen}"
    return re.compile(rf"(?:{first}|{second}){_REASON.format(joins)}")


@cache
def _rows() -> dict[str, str]:
    return {row["role"]: row["words"] for row in load_csv(table_path("words", "not-seen.csv"))}


def _any(words: str) -> str:
    longest = sorted(words.split("|"), key=lambda w: -len(w))
    return f"(?:{'|'.join(re.escape(w) for w in longest)})"
