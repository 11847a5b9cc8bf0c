"""Measures of agreement and consistency: pure functions of counts, with exact sums inside.

Shapes: `Pairs` counts what two coders gave to the same thing, `Unit` how many coders gave each code to one thing.
Where a measure is not defined the answer is None, never 0 and never 1.
"""

from __future__ import annotations

from bridge.audit.measures.agreement import Pairs, cohen_kappa, pairs_of, percent
from bridge.audit.measures.alpha import Coincidences, Unit, krippendorff_alpha
from bridge.audit.measures.bands import Band, band
from bridge.audit.measures.interval import wilson
from bridge.audit.measures.spread import consistency, entropy

__all__ = [
    "Band",
    "Coincidences",
    "Pairs",
    "Unit",
    "band",
    "cohen_kappa",
    "consistency",
    "entropy",
    "krippendorff_alpha",
    "pairs_of",
    "percent",
    "wilson",
]
