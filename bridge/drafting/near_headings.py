"""Headings that abbreviate or misspell one of the table: never more than likely."""

from __future__ import annotations

from bridge.drafting.heading_key import Key
from bridge.drafting.tables import heading_words

NEAR = 88
"""Least likeness (of 100) of a heading to one in the table, to be taken for a slip of spelling."""


def near_heading(key: Key, language: str) -> Key | None:
    """The heading of the table that this one abbreviates or misspells, in the sheet's language or English."""
    if len("".join(key)) < 4:
        return None
    options = [k for k, words in heading_words().items() if any(w.language in (language, "en") for w in words)]
    short = [k for k in options if _abbreviates(key, k)]
    if len({heading_words()[k][0].fields for k in short}) == 1:
        return short[0]
    from rapidfuzz import fuzz, process

    text = " ".join(key)
    if len(text) < 5:
        return None
    names = {" ".join(k): k for k in options if len(" ".join(k)) > 4}
    best = process.extract(text, list(names), scorer=fuzz.ratio, score_cutoff=NEAR, limit=1)
    return names[best[0][0]] if best else None


def _abbreviates(short: Key, whole: Key) -> bool:
    """Whether every word is the other's word shortened: `einverst behandlg` for `einverstandnis behandlung`."""
    if len(short) != len(whole) or short == whole:
        return False
    return all(
        a == b or (len(a) > 2 and len(a) < len(b) and _letters_of(a, b)) for a, b in zip(short, whole, strict=True)
    )


def _letters_of(short: str, whole: str) -> bool:
    rest = iter(whole)
    return whole.startswith(short[:3]) and all(letter in rest for letter in short)
