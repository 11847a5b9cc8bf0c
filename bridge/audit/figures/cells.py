"""Counts that are given away: where few stand behind one it is withheld, and so is what would tell it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from bridge.audit.shapes import Rate

FEW = 5
"""Counts from 1 to 4 are withheld, and so are counts that leave 1 to 4 over."""


@dataclass(frozen=True, slots=True)
class Cell:
    """A rate as it is given away. `withheld`: empty, or why numbers are missing.

    `few`: 1 to 4; `nearly all`: all but 1 to 4; `other`: hidden so that another cannot be worked out; `both`: what it
    is a share of is hidden too.
    """

    count: int | None
    of: int | None
    withheld: str = ""

    @property
    def low(self) -> int:
        """The least that a count can be that is withheld."""
        if self.count is not None:
            return self.count
        return {"few": 1, "nearly all": max((self.of or 0) - FEW + 1, 0)}.get(self.withheld, 0)

    @property
    def high(self) -> int:
        if self.count is not None:
            return self.count
        of = self.of or 0
        return {"few": min(FEW - 1, of), "nearly all": max(of - 1, 0)}.get(self.withheld, of)


def cell(rate: Rate) -> Cell:
    if 0 < rate.of < FEW:
        return hidden()
    if 0 < rate.count < FEW:
        return Cell(None, rate.of, "few")
    if 0 < rate.of - rate.count < FEW:
        return Cell(None, rate.of, "nearly all")
    return Cell(rate.count, rate.of)


def hidden() -> Cell:
    return Cell(None, None, "both")


def row(rates: Sequence[Rate]) -> list[Cell]:
    """The cells of several months. Their total is known, so more is hidden until it no longer tells a small count."""
    found = [cell(rate) for rate in rates]
    wholes = [rate.of for rate in rates]
    while _told_by_rest([one.of is None for one in found], wholes, [(1, None)] * len(found)):
        if (at := _least([one.of is not None for one in found], wholes)) < 0:
            break
        found[at] = hidden()
    sizes = [rate.count for rate in rates]
    while _count_told(found, sizes):
        if (at := _least([one.count is not None for one in found], sizes)) < 0:
            break
        found[at] = replace(found[at], count=None, withheld="other")
    if _count_told(found, sizes):  # nothing is left to hide but how much was hidden
        found = [replace(one, withheld="other") if one.of is not None and one.withheld else one for one in found]
    return [hidden() for _ in found] if _count_told(found, sizes) else found


def _count_told(found: Sequence[Cell], sizes: Sequence[int]) -> bool:
    return _told_by_rest([one.count is None for one in found], sizes, [(one.low, _top(one)) for one in found])


def counts(given: Sequence[int]) -> list[int | None]:
    """The same for plain counts."""
    hidden_ones = [0 < one < FEW for one in given]
    while _told_by_rest(hidden_ones, given, [(1, None)] * len(given)):
        if (at := _least([not one for one in hidden_ones], given)) < 0:
            break
        hidden_ones[at] = True
    return [None if gone else one for gone, one in zip(hidden_ones, given, strict=True)]


def _top(one: Cell) -> int | None:
    return None if one.of is None else one.high


def _told_by_rest(gone: Sequence[bool], sizes: Sequence[int], ends: Sequence[tuple[int, int | None]]) -> bool:
    """Whether what is known of hidden numbers, and their sum, leaves only one value for any of them."""
    at = [n for n, one in enumerate(gone) if one]
    together = sum(sizes[n] for n in at)
    for n in at:
        others = [ends[m] for m in at if m != n]
        tops = [top for _, top in others]
        low = ends[n][0] if None in tops else max(ends[n][0], together - sum(top or 0 for top in tops))
        high = together - sum(bottom for bottom, _ in others)
        if ends[n][1] is not None:
            high = min(high, ends[n][1] or 0)
        if high <= low:
            return True
    return False


def _least(shown: Sequence[bool], sizes: Sequence[int]) -> int:
    """Which of the shown ones has the smallest number that is not 0; -1 where none has."""
    return min((n for n, one in enumerate(shown) if one and sizes[n]), key=lambda n: (sizes[n], n), default=-1)
