"""The section plan of the summary, from `mappings/documents/ips.yaml`."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache

from bridge.build.plan_of_sections import plan_words
from bridge.data import load_yaml, table_path
from bridge.wording import Catalogue, language, speaking


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


def plan() -> Plan:
    """The plan, with the words of the language in force."""
    return _plan(language())


@cache
def _plan(chosen: Catalogue) -> Plan:
    table = load_yaml(table_path("documents", "ips.yaml"))
    headings = tuple(
        Heading(
            row["key"],
            _words(chosen, row["key"], "title"),
            tuple(row["codes"]),
            row["need"] == "M",
            tuple(row["topics"]),
            **{
                name: {"reason": row[name], "text": _words(chosen, row["key"], name)}
                for name in ("empty", "asked", "none")
                if name in row
            },
        )
        for row in table["sections"]
    )
    return Plan(table["name"], _words(chosen, "document", "title"), table["type"], headings)


def _words(chosen: Catalogue, section: str, what: str) -> str:
    with speaking(chosen):
        return plan_words("", "ips", section, what)
