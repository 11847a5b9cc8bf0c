"""all, any and not over questions: the answer, and which questions keep it open."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Literal

from bridge.check.clinical.answers import Answer, negated
from bridge.check.clinical.context import Context
from bridge.check.clinical.question import Asking, Question
from bridge.check.clinical.signs import Sign, Signs, weight


@dataclass(frozen=True, slots=True)
class Expression:
    """`all` and `any` of several parts, `not` of one."""

    joined: Literal["all", "any", "not"]
    parts: tuple[Expression | Question, ...]
    answer: Asking = field(init=False)
    """By Kleene's logic; nothing in `all` is yes, nothing in `any` is no."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "answer", _put_together(self.joined, [part.answer for part in self.parts]))

    def wakes(self) -> Signs | None:
        """Signs without any of which the answer is surely no; None where there are none."""
        if self.joined == "not":
            return None
        found = [part.wakes() for part in self.parts]
        known = [signs for signs in found if signs is not None]
        if self.joined == "any":
            return frozenset[Sign]().union(*known) if len(known) == len(found) else None
        return min(known, key=weight, default=None)

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
