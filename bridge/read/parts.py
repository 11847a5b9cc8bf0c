"""Words that name another part of the ear than their column: "drum normal" in the column of the canal."""

from __future__ import annotations

from functools import cache

from bridge.data import load_csv, table_path
from bridge.layout.fields import Field
from bridge.phrases.vocabulary import NO_OWN, Own, knows_itself

_PARTS = {"drum": "drum", "canal": "canal"}
"""Parts that words of another column may name, and the kind of their terms."""
_COLUMNS = frozenset(("drum", "canal", "contents", "wax"))


def other_part(field: Field, term: str, own: Own = NO_OWN) -> str:
    """The part that a term names and the column is not about; empty where it names none or is no term of it."""
    name = field.steps[-1][0] if field.steps else ""
    if name not in _COLUMNS:
        return ""
    words = frozenset(term.casefold().split())
    named = [part for part in _PARTS if words & _named(part)]
    if named and named[0] != name and len(named) == 1 and knows_itself(_PARTS[named[0]], term, own):
        return named[0]
    return ""


@cache
def _named(part: str) -> frozenset[str]:
    rows = {row["role"]: row["words"] for row in load_csv(table_path("words", "not-seen.csv"))}
    return frozenset(rows[part].split("|"))
