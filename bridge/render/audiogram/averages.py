"""Averages of thresholds by air conduction, only where every frequency that they need was measured once and heard.

Sources: descriptors of the British Society of Audiology (2018), World report on hearing, WHO 2021, table 1.3. Neither
says what kind of loss it is, and nor does this.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_FLOOR, ROUND_HALF_UP, Decimal
from functools import cache
from typing import Literal

from bridge.data import load_csv, table_path
from bridge.ear_words import EARS, Ear
from bridge.render.audiogram.facts import Threshold

Scheme = Literal["bsa", "who"]
NEEDED: dict[Scheme, tuple[int, ...]] = {"bsa": (250, 500, 1000, 2000, 4000), "who": (500, 1000, 2000, 4000)}
Why = Literal["missing", "no-response", "twice"]


@dataclass(frozen=True, slots=True)
class Average:
    """A mean in dB HL, or which frequencies kept it from being worked out, and why."""

    mean: Decimal | None
    why: Why | None = None
    frequencies: tuple[int, ...] = ()


def average(thresholds: Sequence[Threshold], ear: Ear, scheme: Scheme) -> Average:
    air = [t for t in thresholds if t.ear == ear and t.conduction == "air"]
    at = {f: [t for t in air if t.frequency == f] for f in NEEDED[scheme]}
    wrong: dict[Why, list[int]] = {
        "missing": [f for f, found in at.items() if not found],
        "no-response": [f for f, found in at.items() if any(not t.response for t in found)],
        "twice": [f for f, found in at.items() if len({t.level for t in found}) > 1],
    }
    for why, frequencies in wrong.items():
        if frequencies:
            return Average(None, why, tuple(frequencies))
    return Average(sum((found[0].level for found in at.values()), Decimal(0)) / len(at))


@cache
def _bands() -> dict[str, list[tuple[Decimal, str]]]:
    bands: dict[str, list[tuple[Decimal, str]]] = {}
    for row in load_csv(table_path("drawing", "hearing-averages.csv")):
        bands.setdefault(row["scheme"], []).append((Decimal(row["from"]), row["band"]))
    return {scheme: sorted(rows) for scheme, rows in bands.items()}


def shown(mean: Decimal, scheme: Scheme) -> Decimal:
    """BSA: a whole number, halves upward. WHO: two digits, downward, so that it never looks like the next band."""
    if scheme == "bsa":
        return mean.quantize(Decimal(1), ROUND_HALF_UP)
    return mean.quantize(Decimal("0.01"), ROUND_FLOOR)


def band(mean: Decimal, scheme: Scheme) -> str:
    """The band that the mean falls into."""
    value = shown(mean, scheme) if scheme == "bsa" else mean
    return [name for least, name in _bands()[scheme] if value >= least][-1]


def better(averages: dict[Ear, Average]) -> tuple[list[Ear], Decimal] | None:
    """The ear with the lower mean, both where they are equal; None while either ear has none."""
    means = {ear: averages[ear].mean for ear in EARS}
    known = {ear: mean for ear, mean in means.items() if mean is not None}
    if len(known) < len(EARS):
        return None
    least = min(known.values())
    return [ear for ear, mean in known.items() if mean == least], least
