"""Clinical faults to be put into clean visits, one at a time.

Each kind changes a copy of a clean visit so that exactly one thing is wrong, or gives None where it does not fit. What
is wrong is said by a publication or by common practice of the trade (`Kind.row`), and by no rule of this project.
"""

from __future__ import annotations

import random
from copy import deepcopy

from tests.clinical import seeds_left_out, seeds_methods, seeds_numbers, seeds_outcome, seeds_red_flags
from tests.clinical.changing import KINDS, Kind
from tests.clinical.clean_visits import clean_visit
from tests.clinical.day import Visit

__all__ = ["KINDS", "MODULES", "Kind", "spoiled"]

MODULES = (seeds_red_flags, seeds_methods, seeds_numbers, seeds_outcome, seeds_left_out)
TRIES = 3000


def spoiled(rng: random.Random, kind: Kind) -> tuple[Visit, Visit]:
    """A clean visit that the kind fits, and the same with the fault in it."""
    for _ in range(TRIES):
        clean = clean_visit(rng)
        if wrong := kind.seed(rng, deepcopy(clean)):
            assert wrong != clean, kind.name
            return clean, wrong
    raise AssertionError(f"{kind.name} fits none of {TRIES} visits")
