"""What every question of the rules is: words, fields, and an answer that is kept."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from bridge.check.clinical.answers import Answer
from bridge.check.clinical.context import Context
from bridge.check.clinical.fields import ROOTS, Field
from bridge.check.clinical.signs import Signs, no_signs

_NEW: Any = object()
Asking = Callable[[Context], Answer]
Showing = Callable[[Context], str]


def nothing_to_show(context: Context) -> str:
    """For questions whose answer has no words of its own."""
    return ""


def never_torn(context: Context) -> bool:
    """For questions that a record cannot answer both ways."""
    return False


@dataclass(frozen=True, eq=False, slots=True)
class Question:
    """`reads` are the fields that it is answered from; `about_record`: it asks what is written, and always knows.

    `showing` gives what made the answer (a label, a number with its unit) for a message; `torn` says whether the record
    answers both ways.
    """

    name: str
    asks: str
    reads: tuple[str, ...]
    asking: Asking
    showing: Showing = nothing_to_show
    torn: Callable[[Context], bool] = never_torn
    about_record: bool = False
    wakes: Callable[[], Signs | None] = no_signs
    """Signs without any of which the answer is surely no; None where there are none."""
    sure: bool = False
    """Whether each of these signs makes the answer yes."""
    level: int = field(init=False)
    answer: Asking = field(init=False)
    """Yes, no or not known; asked once for each visit, ear or item."""

    def __post_init__(self) -> None:
        levels = [ROOTS[read.partition(".")[0]] for read in self.reads]
        object.__setattr__(self, "level", max(levels, default=0))
        object.__setattr__(self, "answer", _once(self, self.asking, self.level))

    def told(self, context: Context) -> str:
        """The question in words, for the ear that is looked at."""
        return " ".join(self.asks.replace("{ear}", context.ear or "").split())

    def place(self, context: Context) -> str:
        """The field where the answer would stand."""
        return Field(self.reads[0]).path(context) if self.reads else context.path


def _once(question: Question, asking: Asking, level: int) -> Asking:
    """Asks once; a plain function, because thousands of such calls are most of what rules cost."""

    def answer(context: Context) -> Answer:
        memo = context.memos[level]
        found: Answer = memo.get(question, _NEW)
        if found is _NEW:
            found = memo[question] = asking(context)
        return found

    return answer
