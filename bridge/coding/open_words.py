"""Collects the words that got no code over all records, for the practice to say what they mean."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from bridge.coding.concepts import Kind
from bridge.coding.suggest import suggest
from bridge.coding.term_map import TermMaps
from bridge.issues import Issue, Where, rule_of
from bridge.phrases import ambiguous_words, parse_phrase, qualifier, watched_words
from bridge.phrases.fold import fold
from bridge.phrases.tables import ambiguous, qualifiers, tidy, whole
from bridge.telling_words import may_tell_who, telling_in
from bridge.visit import Visit, terms_of
from bridge.words_asked import OpenWord, WordsAsked

ASKED = frozenset(("code-invalid", "value"))
"""Kinds of rules about words that were unknown or refused; where record and words contradict each other
(`conflict`, `business-rule`) no meaning of a word would mend it."""
INSIDE = ("R116", "R117")
"""Rules about a word inside a longer text; what such an issue's cause ends with is the word alone."""
NEAR = 4
SOME = 8
_TWO_THINGS = "It says more than one plain thing. Give each finding a cell of its own."
_IN_TEXT = "It stands inside a longer text. Give the finding a cell or a line of its own."
_SIDE = "Write it out in the record: right ear, left ear. An answer here is refused."
_SAID = "It denies, doubts or dates: only a meaning that does so too is taken."


@dataclass
class _Seen:
    kind: str
    field: str
    word: str
    first: Where
    readings: str
    times: int = 0


@dataclass
class OpenWords:
    """Takes visit after visit; `asked` tells what came together."""

    maps: TermMaps
    _seen: dict[tuple[str, str], _Seen] = field(default_factory=dict)
    _left_out: set[tuple[str, str]] = field(default_factory=set)

    def add(self, visit: Visit | None, issues: Sequence[Issue]) -> None:
        """What a record as it was coded says in words without a code; `issues`: all of the record, in their places."""
        about = [one for one in issues if one.rule in INSIDE or (one.rule[0] == "M" and _asks(one))]
        if not about:
            return
        terms = dict(terms_of(visit)) if visit else {}
        names = telling_in(visit) if visit else set()
        for one in about:
            if one.rule in INSIDE:
                self._inside(one)
                continue
            kind, term = self.maps.kind_of(one.where.path), terms.get(one.where.path)
            if kind and term and not kind.open and not term.codings:
                self._count(kind.name, kind.label, asked_word(kind, term.text, self.maps), one, names)

    def asked(self) -> WordsAsked:
        """By kind of field in the order of the table, the most frequent first."""
        order = {name: at for at, name in enumerate(self.maps.kinds)}
        seen = sorted(self._seen.values(), key=lambda s: (order.get(s.kind, len(order)), -s.times, fold(s.word)))
        words = (OpenWord(s.kind, s.field, s.word, s.times, s.first, tuple(self._near(s)), s.readings) for s in seen)
        kinds = [kind for name, kind in self.maps.kinds.items() if any(s.kind == name for s in seen)]
        meanings = [row for kind in kinds for row in self._meanings(kind)]
        return WordsAsked(tuple(words), tuple(meanings), len(self._left_out))

    def _meanings(self, kind: Kind) -> Iterator[tuple[str, str, str]]:
        for concept in self.maps.concepts.values():
            if concept.kind == kind.name:
                yield kind.label, concept.label, ", ".join(concept.words[:SOME])

    def _inside(self, one: Issue) -> None:
        place = one.where.heading or one.where.path
        word = one.cause.removeprefix(f"{one.rule}:{place}:")
        self._count("", place, word, one, set(), _IN_TEXT)

    def _count(self, kind: str, label: str, word: str, one: Issue, names: set[str], readings: str = "") -> None:
        key = (kind or label, fold(word) or word)
        if key not in self._seen:
            if may_tell_who(word, names, self._of_the_trade):
                self._left_out.add(key)
                return
            told = "; ".join(r for r in (self._readings(kind, word), readings) if r)
            self._seen[key] = _Seen(kind, label, word, one.where, told)
        self._seen[key].times += 1

    def _of_the_trade(self, word: str) -> bool:
        return any(fold(word) in words for words in self.maps.words.values())

    def _readings(self, kind: str, word: str) -> str:
        if found := [f"“{w}” can be {why}" for w, why in shorthand_in(word)]:
            return ". ".join(["; ".join(found), *([_SIDE] if side_shorthand(word) else [])])
        if kind and self.maps.kinds[kind].assertable and parse_phrase(word, kind) is None and watched_words(word):
            return _TWO_THINGS
        return _SAID if kind and denies_or_doubts(word, kind) else ""

    def _near(self, seen: _Seen) -> Iterator[str]:
        if not seen.kind or side_shorthand(seen.word):
            return
        kind = self.maps.kinds[seen.kind]
        found = dict.fromkeys(suggest(kind.name, seen.word, self.maps, NEAR))
        inside = f" {fold(seen.word)} "
        if len(inside) > 4:
            for name in (kind.name, *kind.also):
                found.update((known, None) for known in self.maps.words[name] if inside in f" {known} ")
        yield from list(found)[:NEAR]


def asked_word(kind: Kind, text: str, maps: TermMaps) -> str:
    """The part of a term's words whose meaning is wanted: without a doubt, side or amount that is read by itself."""
    phrase = parse_phrase(text, kind.name)
    plain = phrase and phrase.assertion and not kind.assertable  # "no diff" is an answer, "diff" is none
    if phrase is None or plain or (phrase.amount and maps.find(kind.name, phrase.amount)):
        return " ".join(text.split())
    return phrase.term


def shorthand_in(word: str) -> list[tuple[str, str]]:
    """Shorthand with two readings in a word, or which the word is whatever its letters' size."""
    return ambiguous_words(word) or [(e.word, e.reason) for e in ambiguous() if fold(e.word) == fold(word)]


def side_shorthand(word: str) -> str:
    """The shorthand in a word on which a side hangs; empty where there is none."""
    about = {entry.word: entry.about for entry in ambiguous()}
    return next((w for w, _ in shorthand_in(word) if about[w] == "side"), "")


def denies_or_doubts(word: str, kind: str) -> str:
    """The words in it that deny, doubt or call past what stands beside them; empty where there are none."""
    text = tidy(word)
    if "?" in text:
        return "?"
    if qualifier(text, kind):
        return text
    for one in qualifiers(kind):
        if any(c.isalpha() for c in one.words) and whole(one.words, exact=False).search(text):
            return one.words
    return next((part for part in text.split() if part.casefold().endswith("n't")), "")


def _asks(one: Issue) -> bool:
    page = rule_of(one.rule)
    return page is not None and page.kind in ASKED
