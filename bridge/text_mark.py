"""The mark by which a spreadsheet knows that a cell of a CSV file is text and no formula."""

from __future__ import annotations

import re

FORMULA = re.compile(r"'*[=+\-@\t\r\uff1d\uff0b\uff0d\uff20]")
"""How a text begins that a spreadsheet may take for a formula, or that is marked as none.

= + - @, tab, carriage return and the full-width forms: OWASP, CSV Injection (community page, from memory).
"""


def marked(text: str) -> str:
    """The text with the mark in front where it needs one; `unmarked` gives the same text back, whatever it is."""
    return f"'{text}" if FORMULA.match(text) else text


def unmarked(text: str) -> str:
    """The text of a cell without its mark."""
    return text[1:] if text[:1] == "'" and FORMULA.match(text) else text
