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
    """The cells of several months, whose total is known: one alone is never hidden, for the rest would tell it."""
    found = [cell(rate) for rate in rates]
    if sum(one.of is None for one in found) == 1 and (at := _least(found, [rate.of for rate in rates], "of")) >= 0:
        found[at] = hidden()
    if sum(one.count is None for one in found) == 1 and (at := _least(found, [r.count for r in rates], "count")) >= 0:
        found[at] = replace(found[at], count=None, withheld="other")
    return found


def counts(given: Sequence[int]) -> list[int | None]:
    """The same for plain counts."""
    found: list[int | None] = [None if 0 < one < FEW else one for one in given]
    if sum(one is None for one in found) == 1:
        shown = [at for at, one in enumerate(found) if one]
        if shown:
            found[min(shown, key=lambda at: (given[at], at))] = None
    return found


def _least(found: Sequence[Cell], sizes: Sequence[int], part: str) -> int:
    """Which of the shown ones has the smallest number that is not 0; -1 where none has."""
    shown = [at for at, one in enumerate(found) if getattr(one, part) is not None and sizes[at]]
    return min(shown, key=lambda at: (sizes[at], at), default=-1)
