"""Whether the client was asked for allergies and medicines, by the newest visit that says so."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, NamedTuple

from bridge.visit import Visit

Said = Literal["named", "none", "not asked"]


class Answer(NamedTuple):
    """What one visit says of a list."""

    said: Said
    visit: Visit


LISTS = ("allergies", "medications")
"""Keys of the sections whose emptiness a visit can answer for."""


def answers(key: str, visits: Sequence[Visit]) -> list[Answer]:
    """What each visit answered under a heading, in the order of the visits; those that say nothing are left out."""
    found = []
    for visit in visits:
        asked = visit.allergies if key == "allergies" else visit.medicines if key == "medications" else None
        if asked is not None:
            none: Said = "not asked" if asked.answer == "not asked" else "none"
            found.append(Answer("named" if asked.items else none, visit))
    return found


def newest(found: Sequence[Answer]) -> Answer | None:
    """The newest answer of the client; that nobody asked is one only where nobody ever did."""
    told = [a for a in found if a.said != "not asked"] or list(found)
    return told[-1] if told else None
