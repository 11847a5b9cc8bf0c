"""Words near an unknown one: shown to a person, never used as a code."""

from __future__ import annotations

from bridge.coding.term_map import TermMaps
from bridge.phrases.fold import fold

CUT = 85
SHORTEST = 5
"""Below five letters everything is near something ("was" and "wax")."""


def suggest(kind: str, text: str, maps: TermMaps, limit: int = 3) -> list[str]:
    """Known words of a kind that are spelt like the text, nearest first; empty for short words."""
    from rapidfuzz import fuzz, process

    folded = fold(text)
    if len(folded) < SHORTEST or kind not in maps.kinds:
        return []
    kinds = (kind, *maps.kinds[kind].also)
    words = {word: None for name in kinds for word in maps.words[name] if len(word) >= SHORTEST and word != folded}
    hits = process.extract(folded, list(words), scorer=fuzz.ratio, score_cutoff=CUT, limit=limit)
    return [word for word, _, _ in hits]
