"""What running text holds that a reader must be told about."""

from __future__ import annotations

import re

from bridge.phrases.tables import ambiguous, tidy, watched, watched_firsts

_WORD = re.compile(r"[^\W_]+")


def ambiguous_words(text: str) -> list[tuple[str, str]]:
    """Shorthand with two readings in the text, each with what it could mean, in the order of the table.

    Capitals matter for the Latin marks: "AS" is shorthand, "as" is not.
    """
    text = tidy(text)
    return [(a.word, a.reason) for a in ambiguous() if a.pattern.search(text)]


def watched_words(text: str) -> list[str]:
    """Words of the text that must never be lost unseen, as written, once each, in the order met."""
    firsts, starts = watched_firsts()
    if not any(word in firsts or word.startswith(starts) for word in _WORD.findall(text.casefold())):
        return []  # nearly all notes: without the search for every watched word
    found: dict[str, str] = {}
    for match in watched().finditer(tidy(text)):
        found.setdefault(match.group().casefold(), match.group())
    return list(found.values())
