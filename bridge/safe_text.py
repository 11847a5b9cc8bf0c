"""Text that is safe to show: it cannot move a cursor, change a colour, turn the line round or run in a spreadsheet."""

from __future__ import annotations

import re
import unicodedata

UNSEEN = {"Cc", "Cf", "Cs", "Co", "Zl", "Zp"}
"""Unicode categories of characters that act instead of showing: control, format, surrogate, private, separators."""


def plain(text: str) -> str:
    """The text on one line; characters that act instead of showing become their escapes.

    Messages may quote a received file, and a terminal would obey what stands there.
    """
    if text.isascii() and text.isprintable():
        return text
    spaced = " ".join(text.split())
    return "".join(_escaped(c) if unicodedata.category(c) in UNSEEN else c for c in spaced)


def shown(line: str) -> str:
    """A line that keeps its blanks, made safe in the same way."""
    if line.isascii() and line.isprintable():
        return line
    return "".join(_escaped(c) if unicodedata.category(c) in UNSEEN else c for c in line)


def _escaped(character: str) -> str:
    return character.encode("unicode_escape").decode("ascii")


FORMULA_STARTS = ("=", "+", "-", "@")


def safe_cell(value: object) -> str:
    """A cell's text on one line; an apostrophe goes before what a spreadsheet would run as a formula."""
    text = "" if value is None else plain(str(value))
    return f"'{text}" if text.startswith(FORMULA_STARTS) else text


_CODE = re.compile(r"[_A-Za-z][A-Za-z0-9._-]{0,63}")
_MOST_DIGITS = 5
"""More may be a date or a number of somebody."""


def like_code(text: str) -> bool:
    """Whether what stands where a code or a name of the standard belongs looks like one, and so may be quoted.

    Anything else may be a slip of whoever filled it in: a date of birth, a telephone number, a sentence.
    """
    return _CODE.fullmatch(text) is not None and sum(sign.isdigit() for sign in text) <= _MOST_DIGITS


def code_or(text: str, otherwise: str) -> str:
    """The text where it looks like a code; else words that do not quote it."""
    return text if like_code(text) else otherwise
