"""What somebody is to the client, by mappings/relationships.csv."""

from __future__ import annotations

from functools import cache

from bridge.data import load_csv, table_path

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
