"""What speaks for a swapped or copied side: symptoms here and work there, the same remark of both ears."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from bridge.check.clinical.answers import Answer
from bridge.check.clinical.asked import asked
from bridge.check.clinical.asked.meant import group
from bridge.check.clinical.asked.wax import extent
from bridge.check.clinical.context import Context
from bridge.check.clinical.fields import stated, values
from bridge.ear_words import EARS
from bridge.phrases import side_words
from bridge.phrases.fold import fold
from bridge.visit import EarRecord

_LONG = 60
"""Letters from which the same words twice are no chance."""
_NO_WAX = 30
"""Percent up to which an ear is left alone although it is complained of."""
_TOLD = ("symptoms", "history", "impressions", "work", "hearing_before", "hearing_after", "hearing_change")
_PARTS = ("wax", "contents", "canal", "drum", "outer_ear", "mastoid_cavity")


@asked(
    "worked_on_other_side",
    fields=("ear.work", "ear.symptoms", "other.work", "other.symptoms", "other.before.wax"),
    about_record=True,
)
def worked_on_other_side(context: Context) -> Answer:
    """Whether this ear was worked on, and only the other one, in which nothing was done, is complained of."""
    if not values("ear.work", context) or values("other.work", context):
        return False
    other, own = _complaints("other.symptoms", context), _complaints("ear.symptoms", context)
    if "present" not in other or "present" in own:
        return False
    found = extent(next(iter(values("other.before.wax", context)), None))
    if found and found[1] <= _NO_WAX:
        return False
    return None if "suspected" in own else True


def _complaints(field: str, context: Context) -> set[str]:
    apart = group("no-complaint")
    return {one.said for one in stated(field, context) if not one.concepts & apart}


@asked("same_remark", fields=("visit.right", "visit.left"), about_record=True)
def same_remark(context: Context) -> Answer:
    """Whether a long remark of one ear stands word for word under the other. Not known where one holds the other."""
    right = [*_of_one_ear(context.visit.right)]
    if not right:
        return False
    left = [*_of_one_ear(context.visit.left)]
    if set(right) & set(left):
        return True
    return None if any(a in b or b in a for a in right for b in left) else False


def _of_one_ear(record: EarRecord | None) -> Iterator[str]:
    """Long remarks that do not say that they are of both ears."""
    for text in _remarks(record):
        if len(folded := fold(text)) >= _LONG and len(side_words(text)) < len(EARS):
            yield folded


def _remarks(record: EarRecord | None) -> Iterator[str]:
    if record is None:
        return
    looks = [look for look in (record.before, record.after) if look]
    parts = [part for look in looks for name in _PARTS if (part := getattr(look, name)) is not None]
    for holder in (record, *looks, *parts, *record.work):
        if holder.note:
            yield holder.note


@asked("referred_ear_untold", fields=("visit.referral.ear", "visit.right", "visit.left"), about_record=True)
def referred_ear_untold(context: Context) -> Answer:
    """Whether a referral is for an ear of which nothing is told. Not known where it names none and none is told."""
    referral = context.visit.referral
    if referral is None or referral.ear == "neither":
        return False
    untold = [ear for ear in EARS if not _tells(context.visit.ear(ear))]
    if referral.ears:
        return any(ear in untold for ear in referral.ears)
    return None if len(untold) == len(EARS) else False


def _tells(record: EarRecord | None) -> bool:
    """Whether anything is told of an ear that could be a ground: more than a normal look or a remark."""
    if record is None:
        return False
    looks: list[Any] = [look for look in (record.before, record.after) if look]
    found = any(getattr(getattr(look, name), "findings", ()) for look in looks for name in _PARTS)
    return found or any(look.wax for look in looks) or any(getattr(record, name) for name in _TOLD)


@asked("both_only_hearing", fields=("visit.cautions",), about_record=True)
def both_only_hearing(context: Context) -> Answer:
    """Whether both ears are called the only one that hears. Not known where one of two such cautions names no ear."""
    told = [o for o in stated("visit.cautions", context) if "caution-only-hearing-ear" in o.concepts]
    ears = {o.item.ear for o in told if o.said == "present"}
    if set(EARS) <= ears:
        return True
    return None if len(told) > 1 and len(ears) > 1 else False
