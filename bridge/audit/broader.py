"""Which meanings say less than others, by the reviewed table `mappings/audit/broader.csv`."""

from __future__ import annotations

from functools import cache

from bridge.data import load_csv, table_path


@cache
def above() -> dict[str, frozenset[str]]:
    """By concept, every concept that says a part of what it says."""
    direct: dict[str, set[str]] = {}
    for row in load_csv(table_path("audit", "broader.csv")):
        direct.setdefault(row["concept"], set()).add(row["broader"])
    found: dict[str, frozenset[str]] = {}
    for concept in direct:
        seen, left = set[str](), [concept]
        while left:
            for one in direct.get(left.pop(), set()) - seen:
                seen.add(one)
                left.append(one)
        found[concept] = frozenset(seen)
    return found


def is_broader(one: str, other: str) -> bool:
    """Whether the first concept says a part of what the second one says, and no more."""
    return one in above().get(other, frozenset())
