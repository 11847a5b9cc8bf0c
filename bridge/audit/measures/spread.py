"""One term and the codes that were used for it: how consistent, how many bits."""

from __future__ import annotations

from collections.abc import Iterable
from math import fsum, log2


def consistency(counts: Iterable[int]) -> float | None:
    """Share of the code used most; 1 is consistent. None where no code was used."""
    used = [count for count in counts if count]
    return max(used) / sum(used) if used else None


def entropy(counts: Iterable[int]) -> float | None:
    """-sum of p log2 p over the codes used, in bits; 0 is consistent. None where no code was used.

    Source: C. E. Shannon, Bell System Technical Journal 1948;27:379-423.
    """
    used = [count for count in counts if count]
    if not used:
        return None
    total = sum(used)
    return fsum(count * log2(total / count) for count in used) / total
