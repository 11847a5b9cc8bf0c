"""Two coders and the same things: percent agreement and Cohen's kappa."""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Mapping, Sequence
from fractions import Fraction

Pairs = Mapping[tuple[Hashable, Hashable], int]
"""How often the first coder gave the first code while the second gave the second one to the same thing."""


def pairs_of(table: Sequence[Sequence[int]]) -> Pairs:
    """The pairs of a square table of counts: rows are the codes of the first coder, columns those of the second."""
    return {(row, column): count for row, counts in enumerate(table) for column, count in enumerate(counts) if count}


def percent(pairs: Pairs) -> float | None:
    """Share of things to which both gave the same code, from 0 to 1; None where there is nothing."""
    found = _observed(pairs)
    return None if found is None else float(found)


def cohen_kappa(pairs: Pairs) -> float | None:
    """(po - pe) / (1 - pe), where pe is the sum over codes of the share of each coder's use of it multiplied.

    None where nothing was coded, and where both gave one and the same code to everything: pe is 1 then, and agreement
    beyond chance has no meaning. Source: J. Cohen, Educational and Psychological Measurement 1960;20:37-46.
    """
    observed = _observed(pairs)
    if observed is None:
        return None
    total = sum(pairs.values())
    first, second = Counter[Hashable](), Counter[Hashable]()
    for (one, other), count in pairs.items():
        first[one] += count
        second[other] += count
    expected = Fraction(sum(count * second[code] for code, count in first.items()), total * total)
    return None if expected == 1 else float((observed - expected) / (1 - expected))


def _observed(pairs: Pairs) -> Fraction | None:
    total = sum(pairs.values())
    return Fraction(sum(count for (one, other), count in pairs.items() if one == other), total) if total else None
