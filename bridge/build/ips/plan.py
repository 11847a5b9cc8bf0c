"""The section plan of the summary, from `mappings/documents/ips.yaml`."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache

from bridge.data import load_yaml, table_path


@dataclass(frozen=True, slots=True)
class Heading:
    """One section; `empty`, `asked` and `none` hold `reason` and `text`."""

    key: str
    title: str
    codes: tuple[str, ...]
    needed: bool
    topics: tuple[str, ...]
    empty: dict[str, str] = field(default_factory=dict)
    asked: dict[str, str] = field(default_factory=dict)
    none: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Plan:
    name: str
    title: str
    type: str
    headings: tuple[Heading, ...]


@cache
def plan() -> Plan:
    """The plan, read once."""
    table = load_yaml(table_path("documents", "ips.yaml"))
    headings = tuple(
        Heading(
            row["key"],
            row["title"],
            tuple(row["codes"]),
            row["need"] == "M",
            tuple(row["topics"]),
            **{name: row[name] for name in ("empty", "asked", "none") if name in row},
        )
        for row in table["sections"]
    )
    return Plan(table["name"], table["title"], table["type"], headings)
