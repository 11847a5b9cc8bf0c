"""Local words that are nearly one, as suggestions: never across a denial, a side, a number or two known meanings."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from bridge.audit.shapes import Suggestion
from bridge.audit.terms import Term
from bridge.phrases import qualifier, side_words
from bridge.phrases.tables import sides

MOST_WORDS = 4_000
"""Words of all kinds together that are compared: those used most."""
_BLOCK = 3
"""Letters at the beginning or the end that two words have to share, or their length and letters, to be compared."""
_LEAST = 4
_SHORT, _MIDDLE = 5, 11
"""One letter may differ up to the first length, one in a middling word, two in longer ones."""


def suggestions(terms: Iterable[Term]) -> list[Suggestion]:
    """Groups of words of one kind, that of most use first. Each has at least one word that is no known word."""
    by_kind: dict[str, dict[str, list[Term]]] = defaultdict(dict)
    for nth, term in enumerate(terms):
        if nth >= MOST_WORDS:
            break
        if len(term.folded) >= _LEAST and not any(c.isdigit() for c in term.folded):
            by_kind[term.kind].setdefault(term.folded, []).append(term)
    found = [one for kind, words in sorted(by_kind.items()) for one in _of_kind(kind, words)]
    return sorted(found, key=lambda one: (-sum(n for _, n in one.words), one.kind, one.words[0][0]))


def _of_kind(kind: str, words: dict[str, list[Term]]) -> list[Suggestion]:
    counts = {word: sum(t.count for t in terms) for word, terms in words.items()}
    ranked = sorted(counts, key=lambda word: (-counts[word], word))
    order = {word: nth for nth, word in enumerate(ranked)}
    blocks: dict[str, list[str]] = defaultdict(list)
    for word in ranked:
        for key in _keys(word):
            blocks[key].append(word)
    leader: dict[str, str] = {}
    for word in ranked:
        if words[word][0].meant:
            continue
        near = {other for key in _keys(word) for other in blocks[key] if other != word}
        better = [other for other in near if _above(words, order, other, word) and _near(word, other)]
        if better and len({meant for other in better if (meant := words[other][0].meant)}) < 2:
            leader[word] = min(better, key=lambda other: (not words[other][0].meant, order[other]))
    groups: dict[str, list[str]] = defaultdict(list)
    for word in leader:
        top, steps = leader[word], 0
        while top in leader and steps < 5:
            top, steps = leader[top], steps + 1
        groups[top].append(word)
    told = []
    for top, others in groups.items():
        ways = [(_written(words[one]), counts[one]) for one in [top, *sorted(others, key=lambda w: (-counts[w], w))]]
        why = "a known word and others that differ by a letter or two" if words[top][0].meant else (
            "words that differ by a letter or two")  # fmt: skip
        told.append(Suggestion(kind, tuple(ways), why))
    return told


def _above(words: dict[str, list[Term]], order: dict[str, int], other: str, word: str) -> bool:
    """Whether a word is the one to write: a known one, or one that is used more often."""
    return bool(words[other][0].meant) or order[other] < order[word]


def _written(terms: list[Term]) -> str:
    return terms[0].told().text


def _keys(word: str) -> tuple[str, ...]:
    return (f"a{word[:_BLOCK]}", f"z{word[-_BLOCK:]}", f"s{''.join(sorted(set(word.replace(' ', ''))))}")


def _near(word: str, other: str) -> bool:
    from rapidfuzz.distance import DamerauLevenshtein

    size = max(len(word), len(other))
    most = 1 if size <= _MIDDLE else 2
    if abs(len(word) - len(other)) > most:
        return False
    distance = DamerauLevenshtein.distance(word, other, score_cutoff=most)
    if distance > most or (size <= _SHORT and distance and word[0] != other[0]):
        return False
    return _marks(word) == _marks(other)


def _marks(word: str) -> tuple[object, ...]:
    """What two spellings of one thing have in common: sides, denial and doubt, signs."""
    sided = {side.word.casefold() for side in sides()}
    return (
        frozenset(side_words(word)),
        frozenset(part for part in word.split() if part in sided),
        qualifier(word, ""),
        frozenset(part for part in word.split() if part in ("no", "not", "non", "nil", "without", "un")),
        tuple(c for c in word if c in "+/&?%=<>"),
    )
