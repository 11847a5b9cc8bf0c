"""Local words that are nearly one, as suggestions: never across a denial, a side, a number or two known meanings."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from functools import cache

from bridge.audit.shapes import Suggestion
from bridge.audit.terms import Term
from bridge.phrases import qualifier, side_words
from bridge.phrases.tables import ambiguous, sides

MOST_WORDS = 4_000
"""Words of all kinds together that are compared: those used most."""
_BLOCK = 3
"""Letters at the beginning or the end that two words have to share, or their length and letters, to be compared."""
_LEAST = 4
_SHORT, _MIDDLE = 5, 11
"""One letter may differ up to the first length, one in a middling word, two in longer ones."""


Known = Callable[[str], Mapping[str, str]]
"""By kind of field: the folded words that the practice knows there, each with its meaning."""


def suggestions(terms: Iterable[Term], known: Known = lambda kind: {}) -> list[Suggestion]:
    """Groups of words of one kind, that of most use first: one to write, and others that are no known words."""
    by_kind: dict[str, dict[str, list[Term]]] = defaultdict(dict)
    for nth, term in enumerate(terms):
        if nth >= MOST_WORDS:
            break
        if len(term.folded) >= _LEAST and not any(c.isdigit() for c in term.folded):
            by_kind[term.kind].setdefault(term.folded, []).append(term)
    found = [one for kind, words in sorted(by_kind.items()) for one in _of_kind(kind, words, known(kind))]
    return sorted(found, key=lambda one: (-sum(n for _, n in one.words), one.kind, one.words[0][0]))


def _of_kind(kind: str, words: dict[str, list[Term]], known: Mapping[str, str]) -> list[Suggestion]:
    counts = {word: sum(term.count for term in terms) for word, terms in words.items()}
    meant = {**known, **{word: terms[0].meant for word, terms in words.items() if terms[0].meant}}
    unknown = [word for word in sorted(counts, key=lambda word: (-counts[word], word)) if word not in meant]
    if not unknown:
        return []
    order = {word: nth for nth, word in enumerate(unknown)}
    wanted = {key for word in unknown for key in _keys(word)}
    blocks: dict[str, list[str]] = defaultdict(list)
    for word in (*meant, *unknown):
        for key in wanted.intersection(_keys(word)):
            blocks[key].append(word)
    groups: dict[str, list[str]] = defaultdict(list)
    leads: dict[str, str] = {}
    for word in unknown:
        near = {other for key in _keys(word) for other in blocks[key] if other != word and _near(word, other)}
        meanings = {meant[other] for other in near if other in meant}
        if len(meanings) > 1:
            continue  # nearly two things that are not the same
        better = [other for other in near if other in meant or order[other] < order[word]]
        if better:
            lead = min(
                better,
                key=lambda other: (other not in meant, -counts.get(other, 0), _apart(word, other), len(other), other),
            )
            leads[word] = leads.get(lead, lead)
            groups[leads[word]].append(word)
    return [_told(kind, top, groups[top], words, counts, known=top in meant) for top in sorted(groups)]


def _told(
    kind: str, top: str, others: list[str], words: dict[str, list[Term]], counts: dict[str, int], *, known: bool
) -> Suggestion:
    ways = [(_written(words[one]) if one in words else one, counts.get(one, 0)) for one in (top, *others)]
    why = "a known word, and words that differ from it by a letter or two" if known else (
        "words that differ by a letter or two")  # fmt: skip
    return Suggestion(kind, tuple(ways), why)


def _written(terms: list[Term]) -> str:
    return terms[0].told().text


def _keys(word: str) -> tuple[str, ...]:
    return (f"a{word[:_BLOCK]}", f"z{word[-_BLOCK:]}", f"s{''.join(sorted(set(word.replace(' ', ''))))}")


def _apart(word: str, other: str) -> int:
    from rapidfuzz.distance import DamerauLevenshtein

    return DamerauLevenshtein.distance(word, other)


def _near(word: str, other: str) -> bool:
    from rapidfuzz.distance import DamerauLevenshtein

    size = max(len(word), len(other))
    most = 1 if size <= _MIDDLE else 2
    if abs(len(word) - len(other)) > most:
        return False
    distance = DamerauLevenshtein.distance(word, other, score_cutoff=most)
    if distance > most or (size <= _SHORT and distance and word[0] != other[0]):
        return False
    return _marks(word) == _marks(other) and _letters(word) != _letters(other)


def _letters(word: str) -> str:
    return "".join(c for c in word if c.isalpha())


@cache
def _sided() -> frozenset[str]:
    """Words for a side, shorthand that could be one included."""
    return frozenset(
        word.casefold() for word in (*(s.word for s in sides()), *(a.word for a in ambiguous() if a.about == "side"))
    )


def _marks(word: str) -> tuple[object, ...]:
    """What two spellings of one thing have in common: sides, denial and doubt, signs."""
    return (
        frozenset(side_words(word)),
        frozenset(part for part in word.split() if part in _sided()),
        qualifier(word, ""),
        frozenset(part for part in word.split() if part in ("no", "not", "non", "nil", "without", "un")),
        tuple(c for c in word if c in "+/&?%=<>"),
    )
