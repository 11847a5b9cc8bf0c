"""Patterns of matches() and replaceMatches(): compiled, and refused where they may take for ever.

A pattern in which something repeated repeats again can cost more than can be bounded; its text is then limited.
"""

from __future__ import annotations

import re
import warnings
from functools import lru_cache

from bridge.fhir.path.undecided import UndecidedError

MAX_PATTERN = 2_000
MAX_TEXT = 200_000
MAX_STEPS = 8
"""Steps of a pattern, as a power of ten."""
MAX_RISKY_TEXT = 24
"""Characters of a text that a pattern with repeats in repeats is tried on; 2 to this power steps are a second."""

_PIECE = re.compile(r"\\.|\[\^?\]?(?:\\.|[^\]\\])*\]|[()]|[*+?]|\{\d*,?\d*\}|[^\\]", re.DOTALL)


@lru_cache(1024)
def compiled(pattern: str) -> tuple[re.Pattern[str], int]:
    """The pattern, and how long a text may be. Raises UndecidedError for one that is none, or too long."""
    if len(pattern) > MAX_PATTERN:
        raise UndecidedError
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return re.compile(pattern, re.DOTALL | re.ASCII), longest(pattern)
    except (re.error, OverflowError, RecursionError, ValueError):
        raise UndecidedError from None


def found(pattern: str, text: str) -> bool:
    """Whether the pattern is met anywhere in the text: FHIRPath's matches() is content with a part."""
    return _usable(pattern, text).search(text) is not None


def replaced(pattern: str, text: str, by: str) -> str:
    use = _usable(pattern, text)
    try:
        return use.sub(re.sub(r"\$(\d)", r"\\g<\1>", by.replace("\\", "\\\\")), text)
    except (re.error, IndexError):
        raise UndecidedError from None


def _usable(pattern: str, text: str) -> re.Pattern[str]:
    use, most = compiled(pattern)
    if len(text) > most:
        raise UndecidedError
    return use


def longest(pattern: str) -> int:
    """How long a text may be so that the pattern ends in about a second.

    Short where a group repeats that holds what repeats or has alternatives, since each character may then double the
    work; else the work grows with the power of the endless repeats.
    """
    inside = [False]
    closed = False
    before = ""
    endless = 0 if pattern.startswith("^") else 1
    for piece in _PIECE.findall(pattern):
        varies = piece in {"*", "+"} or (piece[0] == "{" and "," in piece)
        if piece == "(":
            inside.append(False)
        elif piece == ")" and len(inside) > 1:
            closed = inside.pop()
            inside[-1] = inside[-1] or closed
            before = piece
            continue
        elif varies or (piece[0] == "{" and len(piece) > 2):
            if closed:
                return MAX_RISKY_TEXT
            endless += varies
            inside[-1] = inside[-1] or varies
        elif piece == "|" or (piece == "?" and before not in {"(", "*", "+", "}"}):
            inside[-1] = True
        closed = False
        before = piece if len(piece) == 1 else piece[-1] if piece[0] == "{" else ""
    return min(MAX_TEXT, int(10 ** (MAX_STEPS / max(endless, 1))))
