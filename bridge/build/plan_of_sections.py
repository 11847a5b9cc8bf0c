"""Loads a section plan from `mappings/documents/<region>/`: which facts stand under which heading.

Its words are those of the language in force.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from bridge.data import load_yaml, table_path
from bridge.fhir.letter_kind import RECORD
from bridge.wording import Catalogue, language, say


@dataclass(frozen=True, slots=True)
class SectionPlan:
    """`empty`, `noted`, `asked` and `none` hold `reason` and `text`; nothing where the plan has none."""

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


def document_plan(region: str, name: str, *, licensed: bool = False) -> DocumentPlan:
    """A region's plan of a kind of document (`summary`, `referral`); `licensed` adds the codes that want a licence.

    The whole record of a visit (`record`) has the sections of the summary.
    """
    if name == RECORD:
        summary = _plan(region, "summary", licensed, language())
        return replace(summary, name=RECORD, title=say("plan.record.document.title"))
    return _plan(region, name, licensed, language())


def plan_words(region: str, kind: str, section: str, what: str) -> str:
    """The words that are closest to a section of a kind of document of a region: its `title`, what it says when
    `empty`. `document` is the document itself. Raises KeyError where there are none."""
    return _words(language(), region, kind, section, what)


@cache
def _plan(region: str, name: str, licensed: bool, chosen: Catalogue) -> DocumentPlan:
    table: dict[str, Any] = load_yaml(table_path("documents", region, f"{name}.yaml"))

    def words(section: str, what: str) -> str:
        return _words(chosen, region, table["name"], section, what)

    def nothing(row: dict[str, Any], what: str) -> dict[str, str]:
        return {"reason": row[what], "text": words(row["key"], what)} if what in row else {}

    sections = tuple(
        SectionPlan(
            row["key"],
            words(row["key"], "title"),
            (*row["codes"], *(row.get("licensed", ()) if licensed else ())),
            row["need"],
            tuple(row["topics"]),
            nothing(row, "empty"),
            nothing(row, "noted"),
            nothing(row, "asked"),
            nothing(row, "none"),
            words(row["key"], "answered") if row["key"] == "alert" else "",
        )
        for row in table["sections"]
    )
    type = table.get("licensed_type", table["type"]) if licensed else table["type"]
    return DocumentPlan(table["name"], words("document", "title"), type, sections)


def _words(chosen: Catalogue, region: str, kind: str, section: str, what: str) -> str:
    for place in (f"{region}.{kind}.{section}.", f"{kind}.{section}.", f"{region}.{section}.", f"{section}.", ""):
        found = chosen.words.get(f"plan.{place}{what}")
        if found is not None:
            return found
    raise KeyError(f"plan.{region}.{kind}.{section}.{what}")
