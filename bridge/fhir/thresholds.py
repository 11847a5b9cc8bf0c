"""LOINC codes of hearing thresholds by ear and frequency, from `mappings/hearing-thresholds.csv`."""

from __future__ import annotations

from functools import cache

from bridge.data import load_csv, table_path
from bridge.ear_words import Ear


@cache
def _codes() -> dict[tuple[Ear, int], str]:
    found: dict[tuple[Ear, int], str] = {}
    for row in load_csv(table_path("hearing-thresholds.csv")):
        found["right" if row["ear"] == "right" else "left", int(row["frequency"])] = row["code"]
    return found


@cache
def _ears() -> dict[str, Ear]:
    return {code.partition(":")[2]: ear for (ear, _), code in _codes().items()}


def threshold_ear(code: str) -> Ear | None:
    """The ear that a LOINC code of a threshold names; None for any other code."""
    return _ears().get(code)


def threshold_code(ear: Ear, frequency: int, conduction: str) -> str | None:
    """Short name (`loinc:91374-9`) of the code that says this ear and frequency in Hz; None where there is none."""
    return _codes().get((ear, frequency)) if conduction == "air" else None
