"""The pages of the clinical rules, as they stand in `mappings/clinical/rules/`, and their sources in words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from typing import Any

from bridge.data import load_csv, table_path
from bridge.rule_file import read_shipped

_PAGE = ("code", "title", "severity", "what", "do", "why", "wrong", "right", "status", "flag", "urgency")


def clinical_pages() -> Iterator[dict[str, Any]]:
    """What the registry of rules keeps of each, file by file."""
    for path in sorted(table_path("clinical", "rules").glob("*.yaml")):
        for spec in read_shipped(path)["rules"]:
            yield page_of(spec, sources())


def page_of(spec: Mapping[str, Any], known: Mapping[str, Mapping[str, str]]) -> dict[str, Any]:
    """The page of one rule."""
    listed = {name: tuple(spec.get(name) or ()) for name in ("to", "regions")}
    return {
        **{name: spec[name] for name in _PAGE if name in spec},
        **listed,
        "kind": "business-rule",
        "trade": True,
        "reviewed": str(spec["reviewed"]),
        "source": source_words(spec["sources"], known),
    }


@cache
def sources() -> dict[str, dict[str, str]]:
    """The publications that rules name, by their ids in `mappings/clinical/sources.csv`."""
    return {row["id"]: row for row in load_csv(table_path("clinical", "sources.csv"))}


def source_words(listed: Iterable[Mapping[str, Any]], known: Mapping[str, Mapping[str, str]]) -> str:
    """The sources of a rule as its page and a letter name them: title, publisher, edition, section."""
    told = []
    for one in listed:
        row = known[one["id"]]
        publisher = [] if row["publisher"] in ("none", "") else [row["publisher"]]
        section = [str(one["section"])] if one.get("section") else []
        told.append(", ".join([row["title"], *publisher, row["edition"], *section]))
    return "; ".join(told)
