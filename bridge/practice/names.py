"""Comparing names as people write them."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence


def fold(text: str) -> str:
    """The same for any case, width and number of blanks; anything else counts."""
    return " ".join(unicodedata.normalize("NFKC", text).casefold().split())


def nearest(written: str, known: Sequence[str], limit: int = 3) -> list[str]:
    """Up to `limit` of the known names that look like the written one; for a person to choose from."""
    from rapidfuzz import fuzz, process

    names = list(dict.fromkeys(known))
    found = process.extract(fold(written), names, scorer=fuzz.ratio, processor=fold, score_cutoff=60)
    return [name for name, _, _ in found[:limit]]


def quoted(text: str) -> str:
    """A word of the trade or of the settings for a message: in quotation marks, cut to 60 characters."""
    return f"“{text if len(text) <= 60 else text[:59] + '…'}”"


def listed(names: Sequence[str], last: str = "or") -> str:
    """`a, b or c`."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} {last} {names[-1]}" if names else ""
