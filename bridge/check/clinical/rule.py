"""A clinical rule, and what came of it for one ear or item of a visit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from bridge.check.clinical.context import Context
from bridge.check.clinical.expression import Expression
from bridge.check.clinical.question import Asking, Question
from bridge.check.clinical.signs import Signs, weight
from bridge.ear_words import Ear
from bridge.issues import Severity

Verdict = Literal["fires", "asks"]


@dataclass(frozen=True, eq=False, slots=True)
class ClinicalRule:
    """`each`: what it looks at, one by one: `visit`, `ear`, or list fields.

    It fires where `when` and `holds` are yes and `unless` is no; it is quiet where one of the first two is no or the
    last is yes; it asks in all other cases.
    """

    code: str
    severity: Severity
    each: tuple[str, ...]
    when: Expression
    holds: Expression
    unless: Expression
    message: str
    title: str
    source: str
    ask: Severity = Severity.information
    at: str = ""
    """The field that a message points at, where that is not what the rule looks at."""
    flag: str = ""
    urgency: str = ""
    to: tuple[str, ...] = ()
    regions: tuple[str, ...] = ()
    status: str = ""

    def wakes(self) -> tuple[Signs | None, tuple[Asking, ...]]:
        """Signs without any of which it is surely quiet (None where there are none), and what else must not be no."""
        parts = [p for e in (self.when, self.holds) for p in (e.parts if e.joined == "all" else (e,))]
        known = [(signs, part) for part in parts if (signs := part.wakes()) is not None]
        signs, first = min(known, key=lambda one: weight(one[0]), default=(None, None))
        sure = isinstance(first, Question) and first.sure
        return signs, tuple(part.answer for part in parts if not (sure and part is first))

    def questions(self) -> Iterator[Question]:
        """Every question that it asks."""
        for part in (self.when, self.holds, self.unless):
            yield from part.questions()

    def verdict(self, context: Context) -> tuple[Verdict | None, bool]:
        """What comes of it (None: quiet), and whether what makes it matter is known to hold."""
        gate = self.when.answer(context)
        if gate is False:
            return None, False
        held = self.holds.answer(context)
        if held is False:
            return None, False
        excused = self.unless.answer(context)
        if excused is True:
            return None, False
        if gate and held and excused is False:
            return "fires", True
        return "asks", gate is True

    def open(self, context: Context) -> list[Question]:
        """The questions that keep it from deciding."""
        found = [q for part in (self.when, self.holds, self.unless) for q in part.open(context)]
        return list(dict.fromkeys(found))


@dataclass(frozen=True, slots=True)
class Judgement:
    """A rule that fires, or asks, at a place of a visit."""

    rule: ClinicalRule
    verdict: Verdict
    path: str
    ear: Ear | None
    message: str = ""
    """What was found, where it fires."""
    asks: tuple[str, ...] = ()
    """The open questions in words, where it asks."""
    reads: tuple[str, ...] = ()
    """The names of those questions."""
    matters: bool = True
    """Whether it is known that the rule matters here; where not, it was not looked at."""
    torn: bool = False
    """Whether the record answers a question both ways."""
