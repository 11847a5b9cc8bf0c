"""Whether the words for where a client is sent are one plain place: not denied, doubted, conditional, or two."""

from __future__ import annotations

import re

from bridge.nothing_words import answer_of
from bridge.phrases.fold import fold
from bridge.phrases.phrase import qualifier
from bridge.referral_tables import has_word, words
from bridge.referral_target import is_known_place, places_in
from bridge.visit import Term

_LISTED = re.compile(r"[,;|\n]")


def not_a_place(to: Term) -> str:
    """What keeps the words from being one plain place; empty where nothing does.

    Words that have a code, or are as a whole one of the shipped maps, name their place.
    """
    text = to.text
    if to.assertion not in (None, "present"):
        return "is denied, doubted or past"
    if to.codings or is_known_place(text):
        return ""
    if answer_of("referral", text):
        return "says that there is none"
    if "?" in text or qualifier(text) or has_word(fold(text), "no-place"):
        return "denies, doubts, sets a condition, or leaves the choice or the act to somebody else"
    return "names more than one place" if _two(text) else ""


def _two(text: str) -> bool:
    """Whether two known places are joined, or each part of a list is one."""
    parts = [part for part in map(str.strip, _LISTED.split(text)) if part]
    if len(parts) > 1 and all(map(is_known_place, parts)):
        return len({meaning for part in parts for _, meaning in places_in(part)}) > 1
    found = places_in(text)
    return len({meaning for _, meaning in found}) > 1 and bool(words("and") & set(_between(text, found)))


def _between(text: str, found: list[tuple[str, str]]) -> list[str]:
    """The words that stand between the first and the last of the places, and belong to none."""
    said = " ".join(fold(text).replace("/", " / ").split())
    for word, _ in found:
        said = said.replace(word, " | ", 1)
    return said[said.find("|") : said.rfind("|")].split()
