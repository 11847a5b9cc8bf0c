"""What somebody is to the client, by mappings/relationships.csv."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

from bridge.data import load_csv, table_path
from bridge.visit.people import Guardian, Name

CLIENT = "client"


@cache
def _by_words() -> dict[str, dict[str, str]]:
    rows = load_csv(table_path("relationships.csv"))
    return {words: row for row in rows for words in row["words"].split("|")}


def relation(words: str) -> str:
    """One name for all words that mean the same (`mum`, `Mother`); the words themselves where the table has none."""
    plain = " ".join(words.casefold().split())
    return _by_words().get(plain, {}).get("relation", plain)


def relation_codes(words: str) -> list[str]:
    """Short names of the verified codes that these words have."""
    return _by_words().get(" ".join(words.casefold().split()), {}).get("codes", "").split()


def meant(guardians: Sequence[Guardian], told: str) -> list[int]:
    """Which of those who speak for the client the words name: by the whole name, or by what they are to the client."""
    plain = " ".join(told.casefold().split())
    by_name = [number for number, guardian in enumerate(guardians) if plain_name(guardian.name) == plain]
    if by_name:
        return by_name
    return [number for number, one in enumerate(guardians) if relation(one.relationship) == relation(told)]


def plain_name(name: Name) -> str:
    """Given names and family name as they are compared."""
    return " ".join(" ".join([*name.given, name.family or ""]).casefold().split())
