"""LOINC codes of hearing thresholds by ear and frequency, from `mappings/hearing-thresholds.csv`."""

from __future__ import annotations

from functools import cache

from bridge.data import load_csv, table_path
from bridge.visit import Ear


@cache
def _codes() -> dict[tuple[str, int], str]:
    rows = load_csv(table_path("hearing-thresholds.csv"))
    return {(row["ear"], int(row["frequency"])): row["code"] for row in rows}


def threshold_code(ear: Ear, frequency: int, conduction: str) -> str | None:
    """Short name (`loinc:91374-9`) of the code that says this ear and frequency in Hz; None where there is none."""
    return _codes().get((ear, frequency)) if conduction == "air" else None
