"""The kind `terms`: whether the record names something of a group, and whether it denies it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from bridge.check.clinical.answers import Answer
from bridge.check.clinical.context import Context
from bridge.check.clinical.fields import Stated, stated, values
from bridge.check.clinical.moments_between import longer_ago, within

Counts = Literal["yes", "no", "ask", "ignored"]


@dataclass(frozen=True, slots=True)
class Denial:
    """What says no: a stated term of these meanings in these fields, or one of these answers of a field."""

    fields: tuple[str, ...]
    means: frozenset[str] = frozenset()
    answers: frozenset[str] = frozenset()

    def holds(self, context: Context) -> bool:
        if self.answers:
            return any(getattr(v, "answer", None) in self.answers for f in self.fields for v in values(f, context))
        found = (one for f in self.fields for one in stated(f, context))
        return any(_is_so(one) and not one.concepts.isdisjoint(self.means) for one in found)


def _is_so(one: Stated) -> bool:
    """Whether it is stated; a history of nothing is told as past, as all of a history is."""
    return one.said == "present" or (one.said == "past" and "past-none" in one.concepts)


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
        answers = set(self._answers(context))
        if True in answers:
            return None if False in answers and self._denied(context) else True
        return None if None in answers or not answers else False

    def torn(self, context: Context) -> bool:
        """Whether it is named and denied both."""
        return True in self._answers(context) and self._denied(context)

    def label(self, context: Context) -> str:
        """Our own word for the first that was named."""
        named = (one for one in self._named(context) if self._counts(one, context) is True)
        return next((one.term.codings[-1].display or "" for one in named), "")

    def _answers(self, context: Context) -> Iterator[Answer]:
        for one in self._named(context):
            counted = self._counts(one, context)
            if counted != "ignored":
                yield counted
        if any(denial.holds(context) for denial in self.denials):
            yield False

    def _named(self, context: Context) -> Iterator[Stated]:
        for field in self.fields:
            for one in stated(field, context):
                if not one.concepts.isdisjoint(self.means):
                    yield one

    def _denied(self, context: Context) -> bool:
        absent = any(one.said == "absent" for one in self._named(context))
        return absent or any(denial.holds(context) for denial in self.denials)

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
