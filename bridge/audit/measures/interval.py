"""How far a share of a sample can be from that of everything it was drawn from."""

from __future__ import annotations

from math import sqrt

Z95 = 1.959963984540054
"""The 97.5th percentile of the normal distribution."""


def wilson(count: int, of: int) -> tuple[float, float] | None:
    """Wilson's interval of 95 percent around a share; None of nothing.

    Source: E. B. Wilson, Journal of the American Statistical Association 1927;22:209-212. It holds for things drawn at
    random and independently, so for few clusters (many things of one record) it is too narrow.
    """
    if of <= 0:
        return None
    share, square = count / of, Z95 * Z95
    middle = (share + square / (2 * of)) / (1 + square / of)
    half = Z95 * sqrt(share * (1 - share) / of + square / (4 * of * of)) / (1 + square / of)
    return 0.0 if count == 0 else max(0.0, middle - half), 1.0 if count == of else min(1.0, middle + half)
