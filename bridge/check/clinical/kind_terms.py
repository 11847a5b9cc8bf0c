"""The kind `terms`: whether the record names something of a group, and whether it denies it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from bridge.check.clinical.answers import Answer
from bridge.check.clinical.context import Context
from bridge.check.clinical.fields import Stated, said_in, stated, values
from bridge.check.clinical.moments_between import longer_ago, within
from bridge.check.clinical.own_words import own_word

Counts = Literal["yes", "no", "ask", "ignored"]


@dataclass(frozen=True, slots=True)
class Denial:
    """What says no: a stated term of these meanings in these fields, or one of these answers of a field."""

    fields: tuple[str, ...]
    means: frozenset[str] = frozenset()
    answers: frozenset[str] = frozenset()

    def holds(self, context: Context) -> bool:
        for field in self.fields:
            if self.answers:
                for value in values(field, context):
                    if getattr(value, "answer", None) in self.answers:
                        return True
            elif not said_in(field, context).present.isdisjoint(self.means):
                return True
        return False


@dataclass(frozen=True, slots=True)
class Terms:
    """`dated`: the fields of an item of which the first recorded one says when; it must lie in the window."""

    fields: tuple[str, ...]
    means: frozenset[str]
    denials: tuple[Denial, ...] = ()
    suspected: Counts = "ask"
    past: Counts = "ignored"
    dated: tuple[str, ...] = ()
    within: Mapping[str, int] | None = None
    longer_ago: Mapping[str, int] | None = None

    def answer(self, context: Context) -> Answer:
        """Not known where nothing is named and nothing denied, and where both are."""
        yes = no = open_ = denied = False
        for field in self.fields:
            if said_in(field, context).all.isdisjoint(self.means):
                continue
            for one in stated(field, context):
                if one.concepts.isdisjoint(self.means):
                    continue
                counted = self._counts(one, context)
                yes = yes or counted is True
                no = no or counted is False
                open_ = open_ or counted is None
                denied = denied or one.said == "absent"
        for denial in self.denials:
            if denial.holds(context):
                no = denied = True
                break
        if yes:
            return None if denied else True
        return False if no and not open_ else None

    def torn(self, context: Context) -> bool:
        """Whether it is named and denied both."""
        named = list(self._named(context))
        denied = any(one.said == "absent" for one in named) or any(d.holds(context) for d in self.denials)
        return denied and any(self._counts(one, context) is True for one in named)

    def label(self, context: Context) -> str:
        """Our own word for the first that was named."""
        named = (one for one in self._named(context) if self._counts(one, context) is True)
        return next((own_word(one, self.means) for one in named), "")

    def _named(self, context: Context) -> Iterator[Stated]:
        for field in self.fields:
            for one in stated(field, context):
                if not one.concepts.isdisjoint(self.means):
                    yield one

    def _counts(self, one: Stated, context: Context) -> Answer | Literal["ignored"]:
        if one.said == "absent":
            return False
        said: Counts = {"present": "yes", "suspected": self.suspected, "past": self.past}[one.said]
        if said != "yes":
            return {"no": False, "ask": None, "ignored": "ignored"}[said]
        return self._in_window(one.item, context) if self.dated else True

    def _in_window(self, item: Any, context: Context) -> Answer:
        moment = next((found for name in self.dated if (found := getattr(item, name, None))), None)
        if moment is None:
            return None
        start = context.visit.start
        if self.within is not None:
            return within(moment, start, self.within)
        return longer_ago(moment, start, self.longer_ago or {})
