"""Words that say more than their meaning does, so that to deny them does not deny it: "no brief pain"."""

from __future__ import annotations

from collections.abc import Sequence

from bridge.coding.concepts import Concept
from bridge.coding.term_map import TermMaps
from bridge.phrases.fold import fold
from bridge.phrases.tables import role


def narrower(maps: TermMaps, concept: Concept, words: str) -> bool:
    """Whether the words hold shorter ones of the same meaning, and more besides than names of parts and the like."""
    said = fold(words).split()
    more = False
    for known, meant in maps.words[concept.kind].items():
        parts = known.split()
        if meant is not concept or len(parts) >= len(said) or (rest := _without(said, parts)) is None:
            continue
        if role("filler").issuperset(rest):
            return False
        more = True
    return more


def _without(words: Sequence[str], parts: Sequence[str]) -> list[str] | None:
    """The words without some of them, which stand in this order among them; None where they do not."""
    left, at = [], 0
    for word in words:
        if at < len(parts) and word == parts[at]:
            at += 1
        else:
            left.append(word)
    return left if at == len(parts) else None
