"""Cautions that name an ear: "R only hearing ear"."""

from __future__ import annotations

from bridge.ear_words import Ear
from bridge.phrases import parse_phrase, side_behind, side_in_front
from bridge.phrases.tables import tidy
from bridge.phrases.vocabulary import Own, knows

_KIND = "caution"


def sided_caution(words: str, own: Own) -> tuple[tuple[Ear, ...], str] | None:
    """The ears and the rest, where the rest is a known caution; "RT head and neck" is a treatment and names no ear."""
    if knows(_KIND, words, own):
        return None
    ears, rest = side_in_front(words)
    if not ears:
        ears, rest = side_behind(tidy(words).removesuffix("."))
    if not ears:
        return None
    phrase = parse_phrase(rest, _KIND)
    known = knows(_KIND, rest, own) or (phrase is not None and knows(_KIND, phrase.term, own))
    return (ears, rest) if known else None
