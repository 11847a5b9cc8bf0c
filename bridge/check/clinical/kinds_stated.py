"""The kinds `stated` and `meaning`: what a record says, and which of its meanings a field has."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from bridge.check.clinical.answers import Answer, any_of
from bridge.check.clinical.context import Context
from bridge.check.clinical.fields import Stated, said_in, stated, values
from bridge.check.clinical.own_words import own_word
from bridge.check.clinical.signs import ABSENT, UNCODED, Signs, named


@dataclass(frozen=True, slots=True)
class States:
    """Whether one of the fields states a meaning, or one of the parts `normal` is called normal.

    A question about the record itself: what is not said is not stated. It is open only where the record suspects what
    is asked, and `suspected` says ask.
    """

    fields: tuple[str, ...]
    means: frozenset[str]
    normal: tuple[str, ...] = ()
    suspected: Literal["yes", "no", "ask"] = "ask"

    def answer(self, context: Context) -> Answer:
        for field in self.normal:
            if any(part.answer == "normal" for part in values(field, context)):
                return True
        open_ = False
        for field in self.fields:
            said = said_in(field, context)
            if not said.present.isdisjoint(self.means):
                return True
            if said.suspected and not said.suspected.isdisjoint(self.means):
                if self.suspected == "yes":
                    return True
                open_ = open_ or self.suspected == "ask"
        return None if open_ else False

    def wakes(self) -> Signs:
        normal = named([f"{field}.answer" for field in self.normal], ("normal",))
        return frozenset([*named(self.fields, self.means), *normal])

    def label(self, context: Context) -> str:
        """Our own word for the first that is stated."""
        return next(_labels(self.fields, self.means, context), "")


@dataclass(frozen=True, slots=True)
class Meaning:
    """Whether something that the fields hold means one of these; no where all of it means something else.

    Words that no term map knows may mean anything.
    """

    fields: tuple[str, ...]
    means: frozenset[str]

    def answer(self, context: Context) -> Answer:
        found = [one for field in self.fields for one in stated(field, context)]
        return any_of(self._meant(one) for one in found) if found else None

    def wakes(self) -> Signs:
        return frozenset(named(self.fields, (ABSENT, UNCODED, *self.means)))

    def label(self, context: Context) -> str:
        """Our own word for the first that means it."""
        return next(_labels(self.fields, self.means, context), "")

    def _meant(self, one: Stated) -> Answer:
        if not one.concepts:
            return None
        if one.concepts.isdisjoint(self.means):
            return False
        return None if one.said == "suspected" else one.said == "present"


def _labels(fields: tuple[str, ...], means: frozenset[str], context: Context) -> Iterator[str]:
    for field in fields:
        for one in stated(field, context):
            if one.said in ("present", "suspected") and not one.concepts.isdisjoint(means):
                yield own_word(one, means)
