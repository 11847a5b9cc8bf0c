"""Loads a section plan from `mappings/documents/<region>/`: which facts stand under which heading."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

from bridge.data import load_yaml, table_path


@dataclass(frozen=True, slots=True)
class SectionPlan:
    key: str
    title: str
    codes: tuple[str, ...]
    need: str
    topics: tuple[str, ...]
    empty: dict[str, str]
    noted: dict[str, str]
    asked: dict[str, str]
    none: dict[str, str]
    answered_title: str


@dataclass(frozen=True, slots=True)
class DocumentPlan:
    name: str
    title: str
    type: str
    sections: tuple[SectionPlan, ...]


@cache
def document_plan(region: str, name: str, *, licensed: bool = False) -> DocumentPlan:
    """A region's plan of a kind of document (`summary`, `referral`); `licensed` adds the codes that want a licence."""
    table: dict[str, Any] = load_yaml(table_path("documents", region, f"{name}.yaml"))
    sections = tuple(
        SectionPlan(
            row["key"],
            row["title"],
            (*row["codes"], *(row.get("licensed", ()) if licensed else ())),
            row["need"],
            tuple(row["topics"]),
            row.get("empty", {}),
            row.get("noted", {}),
            row.get("asked", {}),
            row.get("none", {}),
            row.get("answered_title", row["title"]),
        )
        for row in table["sections"]
    )
    type = table.get("licensed_type", table["type"]) if licensed else table["type"]
    return DocumentPlan(table["name"], table["title"], type, sections)
