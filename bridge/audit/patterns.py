"""The catalogue of patterns: which rules show each, and which data cannot."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal

from bridge.data import load_csv, table_path

Source = Literal["visit", "ours", "bundle"]


@dataclass(frozen=True, slots=True)
class Pattern:
    code: str
    title: str
    conflict: bool
    """Whether a record that shows it contradicts itself."""
    rules: tuple[str, ...]
    hidden: dict[Source, str]
    """Why records of a kind cannot show it, by kind; those that can are not there."""
    do: str


@cache
def patterns() -> tuple[Pattern, ...]:
    """From `mappings/audit/patterns.csv`, in the order of their codes."""
    return tuple(_pattern(row) for row in load_csv(table_path("audit", "patterns.csv")))


def _pattern(row: dict[str, str]) -> Pattern:
    hidden: dict[Source, str] = {}
    if row["visits"]:
        hidden["visit"] = row["visits"]
    if row["bundles"]:
        hidden["bundle"] = row["bundles"]
    return Pattern(
        row["pattern"], row["title"], row["conflict"] == "yes", tuple(row["rules"].split()), hidden, row["do"]
    )


@cache
def of_rule() -> dict[str, tuple[Pattern, ...]]:
    """The patterns that an issue of a rule shows."""
    found: dict[str, tuple[Pattern, ...]] = {}
    for pattern in patterns():
        for rule in pattern.rules:
            found[rule] = (*found.get(rule, ()), pattern)
    return found


@cache
def conflict_rules() -> frozenset[str]:
    """Rules whose issue means that a record contradicts itself."""
    return frozenset(rule for pattern in patterns() if pattern.conflict for rule in pattern.rules)
