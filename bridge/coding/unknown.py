"""What is said of words that could not be coded."""

from __future__ import annotations

from dataclasses import dataclass

from bridge.coding.concepts import Kind
from bridge.coding.suggest import suggest
from bridge.coding.term_map import TermMaps
from bridge.phrases import ambiguous_words, watched_words
from bridge.phrases.fold import fold
from bridge.phrases.tables import ambiguous as ambiguous_table
from bridge.phrases.tables import tidy
from bridge.visit import Term


@dataclass(frozen=True, slots=True)
class Found:
    """What is known about words in a kind of field, whatever visit they stand in."""

    term: Term
    rule: str = ""
    message: str = ""
    cause: str = ""


def unread(kind: Kind, term: Term) -> Found:
    """Words that say more than one plain thing: they stay words, and what must not be lost is named."""
    if found := ambiguous(kind, term, term.text):
        return found
    cause = f"{kind.name}:{fold(term.text)}"
    if kind.assertable and not kind.open and (watched := watched_words(term.text)):
        named = ", ".join(f"“{word}”" for word in watched)
        message = f"“{cut(term.text)}” says more than one plain thing and stays as words; it speaks of {named}."
        return Found(term, "M106", message, cause)
    return Found(term) if kind.open else Found(term, "M101", _no_code(kind, term.text), cause)


def partly(kind: Kind, term: Term) -> Found:
    """Words that deny how much or of what kind something is: they stay words, neither there nor absent."""
    message = f"“{cut(term.text)}” denies a degree or a kind of something, and not the thing; it stays as words."
    return Found(term, "M112", message, f"{kind.name}:{fold(term.text)}")


def unknown(kind: Kind, term: Term, words: str, maps: TermMaps) -> Found:
    """A plain word that no map knows, with known words spelt like it; nothing is said where any words are usual."""
    if kind.open:
        return Found(term)
    near = suggest(kind.name, words, maps)
    hint = f" Known words like it: {', '.join(near)}." if near else ""
    return Found(term, "M101", _no_code(kind, words) + hint, f"{kind.name}:{fold(words)}")


def ambiguous(kind: Kind, term: Term, words: str) -> Found | None:
    """Shorthand with two readings: refused, as an error where a side or a diagnosis hangs on it."""
    table = ambiguous_table()
    # alone in its cell, shorthand is shorthand whatever its letters' size
    pairs = ambiguous_words(words) or [(e.word, e.reason) for e in table if fold(e.word) == fold(words)]
    if not pairs:
        return None
    about = {entry.word: entry.about for entry in table}
    word, reason = min(pairs, key=lambda pair: about[pair[0]] == "other")
    rule = "M103" if about[word] == "other" else "M102"
    message = f"“{word}” in “{cut(term.text)}” can be read in two ways: {reason}."
    return Found(term, rule, message, f"{kind.name}:{word}")


_BRACKETS = str.maketrans("()[]", "    ")


def without_brackets(text: str) -> str:
    """`warfarin (stopped)` says of the warfarin what `warfarin stopped` says."""
    return tidy(text.translate(_BRACKETS))


def cut(text: str) -> str:
    """Words as a message quotes them: at most 60 characters."""
    return text if len(text) <= 60 else text[:59] + "…"


def _no_code(kind: Kind, words: str) -> str:
    return f"“{cut(words)}” is no known word for: {kind.label}. It goes out in your own words, without a code."
