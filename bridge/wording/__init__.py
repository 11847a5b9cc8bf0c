"""The fixed words of letters, in the language in force: every word that is not the record's own comes from here."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from bridge.wording.catalogue import ENGLISH, Catalogue, catalogue, for_tag, in_any_language, languages

__all__ = [
    "ENGLISH",
    "Catalogue",
    "catalogue",
    "for_tag",
    "in_any_language",
    "language",
    "languages",
    "say",
    "say_number",
    "speaking",
    "translated",
]

_in_force: ContextVar[Catalogue] = ContextVar("language")


@contextmanager
def speaking(chosen: Catalogue) -> Iterator[None]:
    """Everything inside is said in this language; outside of any, in English."""
    token = _in_force.set(chosen)
    try:
        yield
    finally:
        _in_force.reset(token)


def language() -> Catalogue:
    """The catalogue in force."""
    return _in_force.get(None) or catalogue(ENGLISH)


def say(key: str, /, **values: object) -> str:
    """The words of a key, with values put in their places. Raises KeyError for a key that no catalogue has."""
    words = language().words[key]
    return words.format_map(values) if values else words


def say_number(key: str, number: int, /, **values: object) -> str:
    """The words for one, or for another number of things: `key.one`, `key.other`, with `{number}`."""
    return say(f"{key}.{'one' if number == 1 else 'other'}", number=number, **values)


def translated(key: str, english: str, /) -> str:
    """Words that stand in a table of their own in English, in the language in force; as they are where the key is not
    ours, for a practice has words of its own."""
    chosen = language()
    return english if chosen.tag == ENGLISH else chosen.words.get(key, english)
