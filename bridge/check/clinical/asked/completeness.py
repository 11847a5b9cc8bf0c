"""What a record should hold by now: whether hands were laid on an ear, how the work was left, what comes next."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Sequence

from bridge.check.clinical.answers import Answer, any_of
from bridge.check.clinical.asked import asked
from bridge.check.clinical.context import Context
from bridge.check.clinical.fields import values
from bridge.check.clinical.kinds_stated import Meaning
from bridge.fhir.systems import OWN
from bridge.phrases.fold import fold
from bridge.visit import Term, Work

_BOTH_EARS = ("visit.right.work", "visit.left.work")
_WHEN = re.compile(
    r"\d|\b(?:today|tomorrow|tonight|week|weekly|weeks|fortnight|month|monthly|months|year|yearly|years|annual|annually"
    r"|day|days|prn|sos|needed|required|necessary|worse|persists?|returns?|open|routine|none|no|nil|discharged)\b"
)
"""Words that say when, or that no day is needed."""


def _hands_on(*fields: str) -> Callable[[Context, Collection[str], Collection[str]], Answer]:
    def answer(context: Context, methods: Collection[str], undone: Collection[str]) -> Answer:
        """Yes where work by one of the methods was begun; no where all were something else, or were not begun."""
        works = [work for field in fields for work in values(field, context)]
        return any_of(_begun(work, methods, undone) for work in works) if works else None

    return answer


def _begun(work: Work, methods: Collection[str], undone: Collection[str]) -> Answer:
    if not _meanings(work.outcome).isdisjoint(undone):
        return False
    means = _meanings(work.method)
    return not means.isdisjoint(methods) if means else None


def _meanings(term: Term | None) -> frozenset[str]:
    return frozenset(coding.code for coding in term.codings if coding.system == OWN) if term else frozenset()


_HANDS_ON = ("methods", "undone")
asked("hands_on_visit", _BOTH_EARS, _HANDS_ON)(_hands_on(*_BOTH_EARS))
asked("hands_on_ear", ("ear.work",), _HANDS_ON)(_hands_on("ear.work"))
asked("hands_on_work", ("work.method", "work.outcome"), _HANDS_ON)(_hands_on("work"))


def _unfinished(works: Sequence[Work], left: Collection[str], finished: Collection[str]) -> Answer:
    """Work that was finished, whatever was tried before or after it, leaves nothing open."""
    ends = [_meanings(work.outcome) for work in works]
    if any(not end.isdisjoint(finished) for end in ends):
        return False
    if not ends[-1].isdisjoint(left):
        return True
    return None if any(not end for end in ends) else False


@asked("left_unfinished", ("ear.work",), ("left", "finished"))
def left_unfinished(context: Context, left: Collection[str], finished: Collection[str]) -> Answer:
    """Whether the work on the ear was left with something to do."""
    works = values("ear.work", context)
    return _unfinished(works, left, finished) if works else None


@asked("visit_unfinished", _BOTH_EARS, ("left", "finished"))
def visit_unfinished(context: Context, left: Collection[str], finished: Collection[str]) -> Answer:
    """The same of either ear."""
    ears = [works for field in _BOTH_EARS if (works := values(field, context))]
    return any_of(_unfinished(works, left, finished) for works in ears) if ears else None


@asked("perforated", ("ear.work.events", "ear.after.drum.findings"), ("events",))
def perforated(context: Context, events: Collection[str]) -> Answer:
    """Whether the work made the hole: an event says so, or a finding afterwards is called caused.

    One that is called found, beside an event, is told both ways.
    """
    hows = {finding.how for finding in values("ear.after.drum.findings", context)}
    happened = Meaning(("ear.work.events",), frozenset(events)).answer(context)
    if "caused" in hows:
        return True
    return None if happened and "found" in hows else happened


@asked("says_when", ("visit.follow_up",))
def says_when(context: Context) -> Answer:
    """Whether the plan has a day, or words that say when, or that it is left open."""
    plans = values("visit.follow_up", context)
    return any(bool(plan.due or _WHEN.search(fold(plan.plan))) for plan in plans) if plans else None
