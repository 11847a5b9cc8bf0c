"""In which order issues are told: what explains others first."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from bridge.issues import Issue, rule_of

_RANKS = {
    "S101": 1,  # of no known kind: nothing inside is looked at
    "S123": 1,
    "S102": 2,  # a misspelt element is also a missing one
    "S104": 3,
    "S105": 3,
    "S106": 3,
    "S107": 3,
    "S114": 3,
    "S103": 4,
    "S118": 9,
    "S180": 9,
}
_FAMILIES = {"S": 5, "B": 6, "V": 7, "P": 7, "N": 7, "T": 8}
_SHAPE = frozenset({"S101", "S104", "S105"})
"""Faults after which a constraint on the same element or inside of it means nothing."""
_WRITING = re.compile(r"S1[2-5]\d")
_DIGITS = re.compile(r"\d+")


def most_telling_first(issues: Iterable[Issue]) -> list[Issue]:
    """The issues without repetition: the standard before the trade, the worst first, causes before what follows from
    them, then as they stand in the source. Constraints on what has not even the right shape are left out."""
    found = list(dict.fromkeys(issues))
    if len(found) < 2:
        return found
    shapeless = {one.where.path for one in found if one.rule in _SHAPE}
    if shapeless:
        found = [one for one in found if one.rule[0] != "V" or not _within(one.where.path, shapeless)]
    return sorted(found, key=_key)


def _key(found: Issue) -> tuple[Any, ...]:
    page, where = rule_of(found.rule), found.where
    place = (where.row or 0, where.column or 0, _DIGITS.sub(lambda number: number[0].zfill(7), where.path))
    return page is not None and page.trade, -found.severity, _rank(found.rule), *place


def _rank(rule: str) -> int:
    """Smaller is nearer to the cause: the writing of the file, then its shape, then what it means."""
    if rule in _RANKS:
        return _RANKS[rule]
    return 0 if _WRITING.match(rule) else _FAMILIES.get(rule[0], 9)


def _within(path: str, places: set[str]) -> bool:
    """Whether the path is one of the places, or inside of one."""
    while path not in places:
        cut = max(path.rfind("."), path.rfind("["))
        if cut <= 0:
            return False
        path = path[:cut]
    return True
