"""The kinds `choice`, `later`, `age`, `recorded` and `words`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from bridge.check.clinical.answers import Answer, all_of, any_of
from bridge.check.clinical.context import Context
from bridge.check.clinical.fields import values
from bridge.check.clinical.moments_between import age, surely_later
from bridge.check.clinical.signs import ABSENT, PRESENT, Signs, Word, named, words_of
from bridge.nothing_words import says_nothing
from bridge.phrases.fold import fold
from bridge.referral_tables import words as referral_words

_BEFORE = 3
"""Words before one among which a denial takes it back."""


@dataclass(frozen=True, slots=True)
class Choice:
    """Whether a field says one of these."""

    field: str
    said: frozenset[Any]

    def answer(self, context: Context) -> Answer:
        found = values(self.field, context)
        return any(value in self.said for value in found) if found else None

    def wakes(self) -> Signs | None:
        if all(isinstance(value, str | int) for value in self.said):
            return frozenset(named((self.field,), (ABSENT, *self.said)))
        return None


@dataclass(frozen=True, slots=True)
class Later:
    """Whether a moment of the first field lies after one of the second, by more than so many days."""

    one: str
    other: str
    days: int = 0

    def answer(self, context: Context) -> Answer:
        pairs = [(a, b) for a in values(self.one, context) for b in values(self.other, context)]
        return any_of(surely_later(a, b, self.days) for a, b in pairs) if pairs else None


@dataclass(frozen=True, slots=True)
class Age:
    """Limits of the client's age in whole years on the day of the visit."""

    below: int | None = None
    at_least: int | None = None

    def answer(self, context: Context) -> Answer:
        born = context.visit.client.birth_date
        if born is None:
            return None
        ages = age(born, context.visit.start)
        return all_of(self._each(ages))

    def _each(self, ages: tuple[int, int]) -> list[Answer]:
        least, most = ages
        found: list[Answer] = []
        if self.below is not None:
            found.append(True if most < self.below else False if least >= self.below else None)
        if self.at_least is not None:
            found.append(True if least >= self.at_least else False if most < self.at_least else None)
        return found


@dataclass(frozen=True, slots=True)
class Recorded:
    """Whether any of the fields, or all of them, hold something. A dash, or words that say that nothing is recorded,
    are nothing."""

    fields: tuple[str, ...]
    all: bool = False

    def answer(self, context: Context) -> Answer:
        for field in self.fields:
            found = values(field, context)
            held = bool(found) and (type(found[0]) is not str or _says_something(field, found))
            if held is not self.all:
                return not self.all
        return self.all

    def wakes(self) -> Signs:
        return frozenset(named(self.fields[:1] if self.all else self.fields, (PRESENT,)))


def _says_something(field: str, found: Sequence[str]) -> bool:
    name = field.rpartition(".")[2]
    return any(not _nothing(name, one) for one in found)


@lru_cache(1024)
def _nothing(name: str, text: str) -> bool:
    return not any(map(str.isalnum, text)) or says_nothing("text", text) or says_nothing(name, text)


Phrases = Mapping[str, Sequence[list[str]]]


@dataclass(frozen=True, slots=True)
class Words:
    """Whether a text has one of these phrases, and no denial right before it. `phrases`: their words, by the first."""

    fields: tuple[str, ...]
    phrases: Phrases

    def answer(self, context: Context) -> Answer:
        for field in self.fields:
            for words in words_of(field, values(field, context), context):
                if not self.phrases.keys().isdisjoint(words) and self._stand_in(words):
                    return True
        return False

    def wakes(self) -> Signs:
        return frozenset(named(self.fields, [Word(one) for one in self.phrases]))

    def _stand_in(self, words: list[str]) -> bool:
        denied, at = referral_words("denied"), 0
        while at < len(words):
            length = next((len(one) for one in self.phrases.get(words[at], ()) if words[at : at + len(one)] == one), 0)
            if length and denied.isdisjoint(words[max(0, at - _BEFORE) : at]):
                return True
            at += length or 1
        return False


def words_in(fields: tuple[str, ...], said: list[str]) -> Words:
    """Asks for any of the words or phrases, folded, each as whole words."""
    phrases: dict[str, list[list[str]]] = {}
    for words in (fold(one).split() for one in said):
        if words:
            phrases.setdefault(words[0], []).append(words)
    return Words(fields, phrases)
