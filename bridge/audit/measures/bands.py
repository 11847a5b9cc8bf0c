"""Words for a kappa, as published; never shown without the percentage beside it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from bridge.data import load_csv, table_path


@dataclass(frozen=True, slots=True)
class Band:
    word: str
    least: float
    """Values from here on, to two decimals, have this word."""


def band(kappa: float | None) -> str:
    """The word for a value as it is printed, with two decimals; empty for None, `poor` below 0."""
    if kappa is None:
        return ""
    shown = round(kappa, 2)
    return next((one.word for one in reversed(_bands()) if shown >= one.least), "poor")


@cache
def _bands() -> tuple[Band, ...]:
    rows = load_csv(table_path("audit", "bands.csv"))
    return tuple(sorted((Band(row["word"], float(row["least"])) for row in rows), key=lambda one: one.least))
