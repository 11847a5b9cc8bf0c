"""all, any and not over questions: the answer, and which questions keep it open."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from bridge.check.clinical.answers import Answer, negated
from bridge.check.clinical.context import Context
from bridge.check.clinical.question import Question


@dataclass(frozen=True, slots=True)
class Expression:
    """`all` and `any` of several parts, `not` of one."""

    joined: Literal["all", "any", "not"]
    parts: tuple[Expression | Question, ...]

    def answer(self, context: Context) -> Answer:
        """By Kleene's logic; nothing in `all` is yes, nothing in `any` is no."""
        if self.joined == "not":
            return negated(self.parts[0].answer(context))
        decides = self.joined == "any"
        known: Answer = not decides
        for part in self.parts:
            answer = part.answer(context)
            if answer is decides:
                return decides
            if answer is None:
                known = None
        return known

    def open(self, context: Context) -> Iterator[Question]:
        """The questions whose answers would decide, where the answer is not known."""
        if self.answer(context) is not None:
            return
        for part in self.parts:
            if part.answer(context) is None:
                if isinstance(part, Question):
                    yield part
                else:
                    yield from part.open(context)

    def questions(self) -> Iterator[Question]:
        """Every question in it."""
        for part in self.parts:
            if isinstance(part, Question):
                yield part
            else:
                yield from part.questions()
