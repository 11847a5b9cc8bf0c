"""all, any and not over questions: the answer, and which questions keep it open."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Literal

from bridge.check.clinical.answers import Answer, negated
from bridge.check.clinical.context import Context
from bridge.check.clinical.question import Asking, Question


@dataclass(frozen=True, slots=True)
class Expression:
    """`all` and `any` of several parts, `not` of one."""

    joined: Literal["all", "any", "not"]
    parts: tuple[Expression | Question, ...]
    answer: Asking = field(init=False)
    """By Kleene's logic; nothing in `all` is yes, nothing in `any` is no."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "answer", _put_together(self.joined, [part.answer for part in self.parts]))

    @property
    def cost(self) -> int:
        """That of its dearest part."""
        return max((part.cost for part in self.parts), default=0)

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


def _put_together(joined: str, askings: Sequence[Asking]) -> Asking:
    """One function for all of it; of a single part, that part's own."""
    if joined == "not":
        (only,) = askings
        return lambda context: negated(only(context))
    if len(askings) == 1:
        return askings[0]
    decides = joined == "any"

    def answer(context: Context) -> Answer:
        known: Answer = not decides
        for asking in askings:
            found = asking(context)
            if found is decides:
                return decides
            if found is None:
                known = None
        return known

    return answer
