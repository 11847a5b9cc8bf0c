"""The field that a person names in own words or by its path, or those nearest to it."""

from __future__ import annotations

from functools import cache

from bridge.drafting.clashes import field_of
from bridge.drafting.plain_names import field_name, named_fields
from bridge.drafting.tables import plain

MOST = 6
LEAST = 60
"""Likeness (of 100) from which a name is shown."""


def usable(path: str, rows: str) -> bool:
    """Whether a column of a layout of that kind can fill this field."""
    field = field_of(path, rows)
    if field is None:
        return False
    whole_name = field.model is not None and field.model.__name__ == "Name"
    return field.takes_words or whole_name


def fields_like(text: str, rows: str) -> list[str]:
    """One path where the words are exactly that field's; else the nearest ones, nearest first."""
    asked = plain(text)
    if not asked:
        return []
    if usable(text.strip(), rows):
        return [text.strip()]
    names = _names(rows)
    if asked in names:
        return [names[asked]]
    from rapidfuzz import fuzz, process

    best = process.extract(asked, list(names), scorer=fuzz.WRatio, score_cutoff=LEAST, limit=3 * MOST)
    best.sort(key=lambda found: (-fuzz.token_sort_ratio(asked, found[0]) - found[1], found[0]))
    return list(dict.fromkeys(names[name] for name, *_ in best))[:MOST]


@cache
def _names(rows: str) -> dict[str, str]:
    """Plain name to path, with both ears and both stages."""
    ears = ("ear",) if rows == "ear" else ("right", "left")
    found: dict[str, str] = {}
    for field in named_fields():
        paths = [field.replace("ear.", f"{ear}.", 1) for ear in ears] if field.startswith("ear.") else [field]
        staged = [p.replace("@", stage) for p in paths for stage in ("before", "after")]
        for path in dict.fromkeys(staged):
            if usable(path, rows):
                found.setdefault(plain(field_name(path, rows)), path)
    return found
