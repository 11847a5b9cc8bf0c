"""What was done to an ear, and what is known of that ear wherever a record may say it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from bridge.check.clinical.answers import Answer
from bridge.check.clinical.asked import asked
from bridge.check.clinical.context import Context
from bridge.check.clinical.fields import Stated, stated

_NOT_DONE = frozenset({"outcome-not-attempted", "outcome-not-needed"})


@asked(
    "done_with",
    ("work.method", "work.instruments", "work.suction", "work.irrigation", "work.outcome"),
    ("means", "unclear", "instruments", "sign"),
)
def done_with(
    context: Context,
    means: Sequence[str],
    unclear: Sequence[str] = (),
    instruments: Sequence[str] = (),
    sign: str = "",
) -> Answer:
    """Whether the work was done with one of these methods; no where it was not attempted.

    A method of `unclear`, or one that no term map knows, could be any: then one of the `instruments`, or settings
    recorded in the field `sign` (suction, irrigation), say yes.
    """
    if context.work is None:
        return None
    if any(not one.concepts.isdisjoint(_NOT_DONE) for one in stated("work.outcome", context)):
        return False
    method = frozenset[str]().union(*(one.concepts for one in stated("work.method", context)))
    if not method.isdisjoint(means):
        return True
    if method and method.isdisjoint(unclear):
        return False
    with_these = any(not one.concepts.isdisjoint(instruments) for one in stated("work.instruments", context))
    return True if with_these or (sign and getattr(context.work, sign) is not None) else None


@asked("ear_done_with", ("ear.work.method", "ear.work.outcome"), ("means", "unclear"))
def ear_done_with(context: Context, means: Sequence[str], unclear: Sequence[str] = ()) -> Answer:
    """Whether any work on the ear was done with one of these methods; not known where no work is recorded."""
    works = context.record.work if context.record else ()
    answers = [_done(context, n, means, unclear) for n in range(len(works))]
    if True in answers:
        return True
    return None if None in answers or not answers else False


def _done(context: Context, number: int, means: Sequence[str], unclear: Sequence[str]) -> Answer:
    assert context.record is not None
    work = context.record.work[number]
    return done_with(context.at_item(work, "", work, ""), means, unclear)


@asked(
    "caution_of_ear",
    ("visit.cautions",),
    ("means", "one_side"),
)
def caution_of_ear(context: Context, means: Sequence[str], one_side: bool = False) -> Answer:
    """Whether a standing caution of one of these meanings is about the ear that is looked at.

    One of the other ear says nothing of this one, unless it can be only one of the two (`one_side`): then no. One
    without a side is not known to be of this ear.
    """
    answers = list(_cautions(context, frozenset(means), one_side))
    if True in answers:
        return True if False not in answers else None
    return None if None in answers or not answers else False


def _cautions(context: Context, means: frozenset[str], one_side: bool) -> Iterator[Answer]:
    for one in stated("visit.cautions", context):
        if "caution-none" in one.concepts and one.said == "present":
            yield False
        if one.concepts.isdisjoint(means):
            continue
        yield from _one_caution(one, context.ear, one_side)


def _one_caution(one: Stated, ear: str | None, one_side: bool) -> Iterator[Answer]:
    side: Any = getattr(one.item, "ear", None)
    if side not in (None, ear):
        if one_side and one.said == "present":
            yield False
    elif one.said == "absent":
        yield False
    elif one.said == "suspected" or side is None:
        yield None
    else:
        yield True
