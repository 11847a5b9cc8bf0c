"""Words of a cell that say that a part of the ear could not be seen, from `mappings/words/not-seen.csv`."""

from __future__ import annotations

import re
from functools import cache

from bridge.data import load_csv, table_path
from bridge.phrases.tables import tidy

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
    text = tidy(words).rstrip(".!").casefold()
    for part in _COLUMNS[column]:
        if found := _pattern(part).fullmatch(text):
            return (column if column == "view" else part), _answer(found["reason"], text, words)
    if column in _ALONE and (found := _pattern("").fullmatch(text)):
        return column, _answer(found["reason"], text, words)
    return None


def _answer(reason: str | None, text: str, words: str) -> str:
    if not reason:
        return "not seen"
    at = text.index(reason)
    return f"not seen ({tidy(words)[at : at + len(reason)]})"


@cache
def _pattern(part: str) -> re.Pattern[str]:
    rows = {row["role"]: row["words"] for row in load_csv(table_path("words", "not-seen.csv"))}
    after, before, joins = (_any(rows[name]) for name in ("after", "before", "reason"))
    what = f"(?:the )?{_any(rows[part])}" if part else ""
    first = rf"{what} ?[:-]? ?(?:is |was |are |were )?{after}" if part else after
    second = rf"{before} (?:of )?{what}" if part else before
    reason = rf"(?: ?{joins} ?(?P<reason>[^,;:()?!\d]{{2,60}}?)\)?)?"
    return re.compile(rf"(?:{first}|{second}){reason}")


def _any(words: str) -> str:
    longest = sorted(words.split("|"), key=lambda w: -len(w))
    return f"(?:{'|'.join(re.escape(w) for w in longest)})"
