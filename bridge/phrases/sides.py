"""Which ears running text names. "left" is a verb more often than a side: it must earn its reading."""

from __future__ import annotations

import re
from functools import lru_cache

from bridge.ear_words import Ear
from bridge.phrases.tables import role, tidy

_TOKEN = re.compile(r"[^\W\d_]+(?:[/&][^\W\d_]+)?(?:'[a-z]+)?|\d[\w.]*|[^\s\w]|_")
"""Words of letters of any script, so that the end of one ("gehört") is no shorthand for a side."""
_KEPT = 100
"""Letters up to which what was found is kept."""
_STOP = frozenset(".;,:()!?\n-")
_SIDES: dict[str, Ear] = {"right": "right", "rt": "right", "rhs": "right", "left": "left", "lt": "left", "lhs": "left"}
_LETTERS: dict[str, Ear] = {"R": "right", "L": "left"}
_SHORT: dict[str, Ear] = {"RE": "right", "LE": "left", "R/E": "right", "L/E": "left"}
_BOTH = frozenset({"both", "bilateral", "bilaterally", "bilat", "bil", "b/l"})
_BOTH_EXACT = frozenset({"BL", "R&L", "L&R"})
_JOIN = frozenset({"and", "&", "+", ">", "<", "vs", "than"})


def side_words(text: str) -> set[Ear]:
    """The ears that words in running text name; empty where none is named for sure.

    Single letters count as capitals only and never inside words. "left" counts as a side before a word
    for something of the ear, after "the" or "on the" at a statement's end, or joined with "right"; not in "wax
    left", "left in place", "left the clinic". Refused shorthand (AD, AS, R/L) names no ear here.
    """
    return set(_short(text) if len(text) <= _KEPT else _named(text))


@lru_cache(16_384)
def _short(text: str) -> frozenset[Ear]:
    """Terms and other short words are met again and again."""
    return _named(text)


def _named(text: str) -> frozenset[Ear]:
    tokens = _TOKEN.findall(tidy(text).replace("-handed", " handed").replace("-angle", " angle"))
    return frozenset(ear for at in range(len(tokens)) for ear in _at(tokens, at))


def _at(tokens: list[str], at: int) -> tuple[Ear, ...]:
    token, low = tokens[at], tokens[at].casefold()
    before = tokens[at - 1] if at else ""
    after = tokens[at + 1] if at + 1 < len(tokens) else ""
    near = after.casefold()
    if token in _BOTH_EXACT or low in _BOTH or (low == "each" and near == "ear"):
        return () if near in role("elsewhere") else ("right", "left")
    if near in role("elsewhere") and near not in _JOIN:
        return ()
    if token in _SHORT:
        return () if after == ":" else (_SHORT[token],)
    if token in _LETTERS:
        second = at > 0 and _names_a_side(tokens[0]) and before.islower() and after.islower()
        return (_LETTERS[token],) if len(tokens) == 1 or second or _letter(before, after) else ()
    if low not in _SIDES or (low == "lt" and near in role("colour")):
        return ()
    if low in ("rt", "lt", "rhs", "lhs") or near in role("ear") or _joined(tokens, at):
        return (_SIDES[low],)
    named = _right(before.casefold(), near) if low == "right" else _left(before.casefold(), near)
    return (_SIDES[low],) if named else ()


def _names_a_side(token: str) -> bool:
    """Whether a text begins with a side, so that a capital L or R further on is one too: "R occluded L clear"."""
    return token in _LETTERS or token in _SHORT or token.casefold() in _SIDES


def _joined(tokens: list[str], at: int) -> bool:
    """Whether the other side stands beside it: "right and left", "L > right"."""
    sides = {"right", "left", "r", "l", "rt", "lt"}
    around = [t.casefold() for t in tokens[max(0, at - 2) : at + 3]]
    middle = min(at, 2)
    back = middle == 2 and around[1] in _JOIN and around[0] in sides
    return back or (len(around) > middle + 2 and around[middle + 1] in _JOIN and around[middle + 2] in sides)


def _letter(before: str, after: str) -> bool:
    if before[-1:].isdigit() or after == "/" or before == "/" or after == "'":
        return False
    if before == "(" and after == ")":
        return True
    if after.casefold() in role("ear") or after in (":", ">", "<", "+", "&") or before in (">", "<", "+", "&"):
        return True
    if after.casefold() in role("compares"):
        return True
    if not before or before in _STOP:
        return bool(after) and (after.islower() or after.isupper() or after in "-)?")
    return (not after or after in _STOP) and after != "." and before.islower()


def _right(before: str, near: str) -> bool:
    return near not in role("adverb") and before != "all"


def _left(before: str, near: str) -> bool:
    closes = not near or near in _STOP
    if not before or before in _STOP:
        return closes or near not in role("after-left")
    return before in role("on") and (closes or near not in role("after-left"))
