"""Any number of coders, and things that not all of them coded: Krippendorff's alpha for nominal codes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Iterable, Mapping
from fractions import Fraction

Unit = Mapping[Hashable, int]
"""For one thing: by code, how many coders gave it. A coder who gave none is not counted."""


class Coincidences:
    """Takes unit after unit and keeps sums alone, so that its size does not grow with the number of things."""

    def __init__(self) -> None:
        self.things = 0
        """Units that at least two coders coded; no others count."""
        self._values: Counter[Hashable] = Counter()
        self._same: Counter[int] = Counter()
        """By number of coders less one: ordered pairs of coders who gave the same code."""

    def add(self, unit: Unit, times: int = 1) -> None:
        """One more unit, or as many that are alike."""
        coders = sum(unit.values())
        if coders < 2:
            return
        self.things += times
        for code, count in unit.items():
            self._values[code] += count * times
        self._same[coders - 1] += sum(count * (count - 1) for count in unit.values()) * times

    def alpha(self) -> float | None:
        """1 - Do / De; None where no two coders coded one thing, or where all codes given are one and the same.

        With n values in such units, n_c of them the code c, and o_cc the sum over units of n_uc (n_uc - 1) / (m_u - 1):
        Do = 1 - (sum of o_cc) / n, De = 1 - (sum of n_c (n_c - 1)) / (n (n - 1)).
        Source: K. Krippendorff, Computing Krippendorff's alpha-reliability, 2011, sections A to C.
        """
        number = sum(self._values.values())
        chance = number * (number - 1) - sum(count * (count - 1) for count in self._values.values())
        if not chance:
            return None
        same = sum((Fraction(count, less) for less, count in self._same.items()), Fraction(0))
        return float(1 - (number - same) * (number - 1) / chance)


def krippendorff_alpha(units: Iterable[Unit]) -> float | None:
    """Alpha over all units, as `Coincidences.alpha` says."""
    sums = Coincidences()
    for unit in units:
        sums.add(unit)
    return sums.alpha()
