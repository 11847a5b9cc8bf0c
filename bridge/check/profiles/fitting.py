"""Codes outside of an extensible value set that are known to stand where none of the set fits."""

from __future__ import annotations

from functools import cache

from bridge.data import load_csv, table_path
from bridge.fhir.systems import system


def fits(value_set: str, of: str | None, code: str) -> bool:
    """Whether the table has this code for this set; `of` is the code's system."""
    return (value_set.partition("|")[0], of, code) in _table()


@cache
def _table() -> frozenset[tuple[str, str | None, str]]:
    rows = load_csv(table_path("profiles", "fitting-codes.csv"))
    return frozenset((row["value_set"], system(row["system"]), row["code"]) for row in rows)
