"""Which visits are one client's, and who is so old that the age alone could tell who it is."""

from __future__ import annotations

from collections.abc import Iterable

from bridge.one_client import name_words
from bridge.visit import Visit

OLDEST = 89
"""Ages above are one group (45 CFR 164.514(b)(2)(i)(C), as remembered)."""


def client_key(visit: Visit) -> str:
    """Words by which the client is the same from visit to visit: the number, else name and birth date."""
    client = visit.client
    if client.number:
        return f"number {client.number}"
    return f"name {name_words(client.legal_name)} born {client.birth_date or ''}"


def over_89(visits: Iterable[Visit]) -> frozenset[str]:
    """The clients who may be over 89 at one of their visits, by years alone: on the safe side of the birthday."""
    return frozenset(
        client_key(visit)
        for visit in visits
        if visit.client.birth_date and int(visit.start[:4]) - int(visit.client.birth_date[:4]) > OLDEST
    )
