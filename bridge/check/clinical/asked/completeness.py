"""What a record should hold by now: whether hands were laid on an ear, how the work was left, what comes next."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence

from bridge.check.clinical.answers import Answer, any_of
from bridge.check.clinical.asked import asked
from bridge.check.clinical.context import Context
from bridge.check.clinical.fields import stated, values
from bridge.fhir.systems import OWN
from bridge.phrases.fold import fold
from bridge.visit import Term, Work

_BOTH_EARS = ("visit.right.work", "visit.left.work")
_WHEN = re.compile(
    r"\d|\b(?:today|tomorrow|tonight|week|weekly|weeks|fortnight|month|monthly|months|year|yearly|years|annual|annually"
    r"|day|days|prn|sos|needed|required|necessary|worse|persists?|returns?|open|routine|recall|none|no|nil|discharged)\b"
)
"""Words that say when, or that no day is needed."""


def _meanings(term: Term | None) -> frozenset[str]:
    return frozenset(coding.code for coding in term.codings if coding.system == OWN) if term else frozenset()


def _works(fields: Sequence[str], context: Context) -> Iterator[Work]:
    for field in fields:
        yield from values(field, context)


def _hands_on(*fields: str) -> Callable[[Context, list[str], list[str]], Answer]:
    """A function for the works of these fields; the fields that it reads are these."""

    def answer(context: Context, methods: list[str], undone: list[str]) -> Answer:
        """Yes where work by one of the methods was begun; no where all were something else, or were not begun."""
        works = list(_works(fields, context))
        return any_of(_begun(work, methods, undone) for work in works) if works else None

    return answer


def _begun(work: Work, methods: list[str], undone: list[str]) -> Answer:
    if not _meanings(work.outcome).isdisjoint(undone):
        return False
    means = _meanings(work.method)
    return not means.isdisjoint(methods) if means else None


_OPTIONS = ("methods", "undone")
asked("hands_on_visit", _BOTH_EARS, _OPTIONS)(_hands_on(*_BOTH_EARS))
asked("hands_on_ear", ("ear.work",), _OPTIONS)(_hands_on("ear.work"))
asked("hands_on_work", ("work.method", "work.outcome"), _OPTIONS)(_hands_on("work"))


def _unfinished(works: Sequence[Work], left: list[str], finished: list[str]) -> Answer:
    """How the last work that says so left the ear; what comes after one that does not say is not known."""
    if not works:
        return None
    ends = [_meanings(work.outcome) for work in works]
    if any(not end.isdisjoint(finished) for end in ends):
        return False
    return True if not ends[-1].isdisjoint(left) else None if any(not end for end in ends) else False


@asked("left_unfinished", ("ear.work",), ("left", "finished"))
def left_unfinished(context: Context, left: list[str], finished: list[str]) -> Answer:
    """Whether the ear was left with work that was not finished, by whatever was tried after it neither."""
    return _unfinished(values("ear.work", context), left, finished)


@asked("visit_unfinished", _BOTH_EARS, ("left", "finished"))
def visit_unfinished(context: Context, left: list[str], finished: list[str]) -> Answer:
    """The same of either ear."""
    ears = [works for field in _BOTH_EARS if (works := values(field, context))]
    return any_of(_unfinished(works, left, finished) for works in ears) if ears else None


@asked("advised", ("visit.advice",), ("mean",))
def advised(context: Context, mean: list[str]) -> Answer:
    """Whether one piece of the advice means one of these; advice in words that nothing stands for may."""
    found = stated("visit.advice", context)
    if not found:
        return None
    return any_of(True if not one.concepts.isdisjoint(mean) else False if one.concepts else None for one in found)


@asked("says_when", ("visit.follow_up",))
def says_when(context: Context) -> Answer:
    """Whether the plan has a day, or words that say when, or that it is left open."""
    plans = values("visit.follow_up", context)
    return any(bool(plan.due or _WHEN.search(fold(plan.plan))) for plan in plans) if plans else None
