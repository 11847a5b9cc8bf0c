"""The kinds `choice`, `later`, `age`, `recorded` and `words`."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from bridge.check.clinical.answers import Answer, all_of, any_of
from bridge.check.clinical.context import Context
from bridge.check.clinical.fields import values
from bridge.check.clinical.moments_between import age, surely_later
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
    """Whether any of the fields, or all of them, hold something."""

    fields: tuple[str, ...]
    all: bool = False

    def answer(self, context: Context) -> Answer:
        for field in self.fields:
            if bool(values(field, context)) is not self.all:
                return not self.all
        return self.all


@dataclass(frozen=True, slots=True)
class Words:
    """Whether a text has one of these words, and no denial right before it."""

    fields: tuple[str, ...]
    said: re.Pattern[str]

    def answer(self, context: Context) -> Answer:
        return any(self._says(text) for field in self.fields for text in values(field, context))

    def _says(self, value: Any) -> bool:
        text = fold(value.text if hasattr(value, "text") else str(value))
        denied = referral_words("denied")
        return any(not denied & set(text[: m.start()].split()[-_BEFORE:]) for m in self.said.finditer(text))


def pattern_of(said: list[str]) -> re.Pattern[str]:
    """One pattern for any of the words, folded, each as whole words."""
    return re.compile(rf"(?<!\S)(?:{'|'.join(re.escape(fold(word)) for word in said)})(?!\S)")
