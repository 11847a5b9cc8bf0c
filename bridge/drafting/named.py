"""The field that a person names in own words or by its path, or those nearest to it."""

from __future__ import annotations

import re
from functools import cache

from bridge.drafting.clashes import field_of
from bridge.drafting.headings import read_headings
from bridge.drafting.offers import put
from bridge.drafting.pieces import nearest
from bridge.drafting.plain_names import field_name, named_fields
from bridge.drafting.tables import plain

MOST = 6
LEAST = 65
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
    said = read_headings([text])[1][0]
    known = [f for f in dict.fromkeys([*said.fields, *nearest(said.key, "en")]) if f not in ("ask", "ignore")]
    meant = [path for field in known for path in put(field, said, rows) if usable(path, rows)]
    scored = sorted((-_likeness(asked, name), name) for name in names)
    near = [names[name] for score, name in scored if -score >= LEAST]
    return list(dict.fromkeys([*meant[: MOST - 2], *near]))[:MOST]


def _likeness(asked: str, name: str) -> float:
    """How well every word that was typed is found among the words of a name, of 100; further words cost a little."""
    from rapidfuzz import fuzz

    words = re.findall(r"\w+", name)
    best = [max((fuzz.ratio(word, other) for other in words), default=0.0) for word in re.findall(r"\w+", asked)]
    return sum(best) / len(best) - len(words) / 2 if best else 0.0


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
