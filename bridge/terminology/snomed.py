"""What is certain of SNOMED CT without a copy of it: codes that our tables hold, by their semantic tag.

Tables: `mappings/codes/snomed-*.csv` (codes with the tag of their full name), `mappings/terminology-snomed.csv` (what
the tags and some concepts stand under). A row of codes with a note is left alone: its tag was worked out, not seen.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from bridge.data import load_csv, table_path
from bridge.numbers import sctid_problem
from bridge.terminology.answers import YES, Found, named

ROOT = "138875005"
NOT_AT_HAND = "SNOMED CT is not at hand"


@dataclass(frozen=True, slots=True)
class Place:
    """Where a concept stands."""

    under: frozenset[str]
    group: str


def known(code: str) -> Found:
    """Whether SNOMED CT has the code: yes where our tables do, no where no such number can be."""
    if sctid_problem(code):
        return Found(False, f"{named(code)} is no number that a concept of SNOMED CT can have")
    return YES if code in _codes() or code in _places() or code == ROOT else Found(None, NOT_AT_HAND)


def is_a(code: str, concept: str, *, itself: bool = True) -> Found:
    """Whether a code stands under a concept (or, with `itself`, is it)."""
    if code == concept:
        return Found(itself, "" if itself else "the concept itself is left out")
    found = known(code)
    if found.yes is False or (concept == ROOT and found.yes):
        return found
    place, other = _place(code), _place(concept)
    if place is None:
        return Found(None, NOT_AT_HAND)
    if concept in place.under:
        return YES
    if other is not None and place.group != other.group:
        return Found(False, f"{named(code)} stands in another hierarchy of SNOMED CT")
    return Found(None, NOT_AT_HAND)


def _place(code: str) -> Place | None:
    return _places().get(code) or _places().get(_codes().get(code, ""))


@cache
def _places() -> dict[str, Place]:
    """By concept and by tag."""
    rows = load_csv(table_path("terminology-snomed.csv"))
    return {row["key"]: Place(frozenset(row["under"].split()), row["group"]) for row in rows}


@cache
def _codes() -> dict[str, str]:
    """Code to semantic tag; an empty one where it was not seen."""
    return {
        row["code"]: "" if row.get("note") else row["tag"]
        for name in ("snomed-licensed.csv", "snomed-free.csv")
        for row in load_csv(table_path("codes", name))
    }
