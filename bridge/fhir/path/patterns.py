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


class _Group:
    """What was met in a group so far."""

    def __init__(self) -> None:
        self.varies = False
        self.plain = True
        """Whether it holds no group and no alternatives."""
        self.pieces: list[str] = []


def longest(pattern: str) -> int:
    """How long a text may be so that the pattern ends in about a second.

    Short where a group repeats that holds what repeats or has alternatives, since each character may then double the
    work; not if a separator tells where each repeat begins or ends (`([a-z]+[.])+`). Else the work grows with the
    power of the endless repeats.
    """
    groups = [_Group()]
    closed: _Group | None = None
    endless = 0 if pattern.startswith("^") else 1
    before = ""
    for piece in _PIECE.findall(pattern):
        here = groups[-1]
        repeats = piece in {"*", "+"} or (piece[0] == "{" and len(piece) > 2)
        varies = repeats and (piece[0] != "{" or "," in piece)
        if piece == "(":
            here.plain = False
            groups.append(_Group())
        elif piece == ")" and len(groups) > 1:
            closed = groups.pop()
            groups[-1].varies |= closed.varies
            before = piece
            continue
        elif repeats:
            if closed is not None and closed.varies and not _separated(closed):
                return MAX_RISKY_TEXT
            endless += varies
            here.varies |= varies
        elif piece == "|":
            here.varies, here.plain = True, False
        elif piece == "?" and before not in {"(", "*", "+", "}"}:
            here.varies = True
        if piece != "(":
            here.pieces.append(piece)
        closed = None
        before = piece[-1] if piece[0] == "{" or len(piece) == 1 else ""
    return min(MAX_TEXT, int(10 ** (MAX_STEPS / max(endless, 1))))


def _separated(group: _Group) -> bool:
    """Whether each repeat of the group begins or ends with one character that nothing else in it can be."""
    if not group.plain or not group.pieces:
        return False
    pieces = group.pieces[2:] if group.pieces[:2] == ["?", ":"] else group.pieces
    single = [piece for piece in pieces if not (piece in {"*", "+", "?"} or (piece[0] == "{" and len(piece) > 2))]
    first = pieces[0] if len(pieces) > 1 and pieces[1] in single else ""
    for mark in (first, pieces[-1] if pieces else ""):
        escaped = len(mark) == 2 and mark[0] == "\\" and not mark[1].isalnum()
        char = mark[1] if escaped or (len(mark) == 3 and mark[0] == "[") else mark
        if len(char) != 1 or mark in {".", "^", "$", "*", "+", "?"}:
            continue
        others = list(single)
        others.remove(mark)
        if not any(re.fullmatch(other, char, re.DOTALL) for other in others):
            return True
    return False
