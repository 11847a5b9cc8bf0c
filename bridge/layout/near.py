"""The field that was meant by a name that a visit does not have."""

from __future__ import annotations

import difflib
import re
from functools import cache

from bridge.data import load_csv, table_path
from bridge.layout.fields import all_paths, find_field

MOST = 2


def near_fields(path: str) -> list[str]:
    """Up to two fields that may be meant: by what a heading of that name means, by their ending, by their spelling.

    They stand in the same part of the visit: what is said of the client is never offered a place elsewhere.
    """
    parent, _, name = re.sub(r"\[\d+\]", "", path).rpartition(".")
    inside = [p for p in _options() if p.startswith(f"{parent}.")] if parent else list(_options())
    beside = {p[len(parent) + 1 if parent else 0 :]: p for p in inside}
    own = {last: p for last, p in beside.items() if "." not in last}
    if named := [p for p in _by_heading().get(name.replace("_", " ").casefold(), ()) if p in inside]:
        return list(dict.fromkeys(named))[:MOST]
    found = [p for p in inside if p.endswith(f".{name}") and p != path]
    found += [p for last, p in own.items() if name in last.split("_")]
    found += [own[last] for last in difflib.get_close_matches(name, own, MOST, 0.6)]
    return list(dict.fromkeys(found))[:MOST]


@cache
def _options() -> tuple[str, ...]:
    """Every field as a visit spells it: moments are whole there, and an ear is right or left."""
    return tuple(p for p in all_paths("visit") if not p.startswith("ear") and not _part(p))


def _part(path: str) -> bool:
    field = find_field(path, "visit")
    return field is None or bool(field.part)


@cache
def _by_heading() -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for row in load_csv(table_path("words", "headings.csv")):
        for field in row["field"].split():
            bare = re.sub(r"\[\d+\]|\.(date|time)$", "", field)
            for word in row["words"].split("|"):
                found.setdefault(word, []).append(bare)
    return found
