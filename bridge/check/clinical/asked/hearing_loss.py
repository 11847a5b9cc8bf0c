"""Hearing loss of one ear: whether it is told, how fast it came on, since when, and whether the answers contradict.

Days as NICE NG98 1.1.2 counts them: sudden is over 3 days or less; day 30 is still within the past 30 days.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from bridge.check.clinical.answers import Answer, all_of, any_of
from bridge.check.clinical.asked import asked
from bridge.check.clinical.asked.loss_explained import loss_explained
from bridge.check.clinical.asked.meant import SAID_TO_BE, group, there, told_of
from bridge.check.clinical.context import EAR, Context
from bridge.check.clinical.fields import Stated
from bridge.check.clinical.moments_between import span
from bridge.check.clinical.signs import Signs, named
from bridge.ear_words import EARS

Span = tuple[float, float]
"""The least and the most days that can be meant."""

SUDDEN_DAYS = 3
RAPID_DAYS = 90
RECENT_DAYS = 30
_SUDDEN: Span = (0, SUDDEN_DAYS)
_NOT_SUDDEN: Span = (SUDDEN_DAYS + 1, float("inf"))
_DAYS = {"s": 1 / 86_400, "min": 1 / 1440, "h": 1 / 24, "d": 1, "wk": 7, "mo": 30, "a": 365}
"""A month that a client speaks of has 30 days: three of them are the 90 that NG98 counts."""
_SLACK = {"wk": 7, "mo": 30, "a": 365}
"""Days by which a number in these units may be rounded; in others by one."""

_TOLD_IN = ("ear.symptoms", "ear.impressions")
_READS = (
    "ear.symptoms", "ear.impressions", "ear.symptoms.developed_over", "ear.symptoms.onset", "ear.impressions.onset",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Loss:
    """One loss as the record tells it; None: not told."""

    speed: Span | None
    since: Span | None


def _named(context: Context) -> list[Stated]:
    """What is said of a loss where the context looks: the ear's own, or the reasons where neither ear tells of one."""
    losses = group("losses-of-hearing")
    if context.ear is not None:
        return told_of(losses, _TOLD_IN, context)
    found = told_of(losses, ("visit.reasons",), context)
    return [] if found and any(_names_loss(context.at_ear(ear)) for ear in EARS) else found


def _names_loss(context: Context) -> bool:
    return any(not group("losses-of-hearing").isdisjoint(there(field, context)) for field in _TOLD_IN)


def losses(context: Context) -> tuple[Loss, ...]:
    """The losses that are told of, each with what is known of it. What tells no more than another that is told whole is
    left out; a speed and a day that are told apart belong together where neither stands elsewhere."""
    memo = context.memos[EAR]
    found: tuple[Loss, ...] | None = memo.get("losses")
    if found is None:
        found = memo["losses"] = tuple(_joined([*dict.fromkeys(_single(context))]))
    return found


def _single(context: Context) -> Iterator[Loss]:
    named = _named(context)
    if not named:
        return
    sudden = group("losses-sudden")
    not_sudden = any(one.said == "absent" and not one.concepts.isdisjoint(sudden) for one in named)
    by_reason = None if sudden.isdisjoint(there("visit.reasons", context)) else _SUDDEN
    for one in named:
        if one.said in SAID_TO_BE:
            speed = told_speed(one.item) or _speed_in_words(one) or (_NOT_SUDDEN if not_sudden else by_reason)
            yield Loss(speed, days_since(getattr(one.item, "onset", None), context))


def _joined(single: Sequence[Loss]) -> Iterator[Loss]:
    whole = [one for one in single if one.speed and one.since]
    fast = [one for one in single if one.speed and not one.since and not any(_fits(one.speed, w.speed) for w in whole)]
    dated = [one for one in single if one.since and not one.speed and not any(one.since == w.since for w in whole)]
    yield from whole
    if fast and dated:
        yield from (Loss(one.speed, other.since) for one in fast for other in dated)
    else:
        yield from (*fast, *dated)
    if single and not (whole or fast or dated):
        yield Loss(None, None)


def _fits(one: Span | None, other: Span | None) -> bool:
    return bool(one and other and one[0] <= other[1] and other[0] <= one[1])


def told_speed(item: Any) -> Span | None:
    """Over how many days it came on, by its number."""
    measure = getattr(item, "developed_over", None)
    if measure is None or measure.unit not in _DAYS or measure.value < 0:
        return None
    days = float(measure.value) * _DAYS[measure.unit]
    return days, days


def _speed_in_words(one: Stated) -> Span | None:
    if not one.concepts.isdisjoint(group("losses-sudden")):
        return _SUDDEN
    return _NOT_SUDDEN if not one.concepts.isdisjoint(group("losses-gradual")) else None


def days_since(moment: str | None, context: Context) -> Span | None:
    """Days from a moment to the visit's; a moment after the visit says nothing, and a partial one spans several."""
    if moment is None:
        return None
    (first, last), (begin, end) = span(moment), span(context.visit.start)
    most = (end - first).days
    return (max((begin - last).days, 0), most) if most >= 0 else None


def signs_of_loss() -> Signs:
    return frozenset(named((*_TOLD_IN, "visit.reasons"), group("losses-of-hearing")))


@asked(
    "loss_named", fields=("ear.symptoms", "ear.impressions", "visit.reasons"), about_record=True, wakes=signs_of_loss
)
def loss_named(context: Context) -> bool:
    """Whether the record tells of a hearing loss: of the ear, or as a reason of the visit that neither ear tells of."""
    return bool(losses(context))


@asked("loss_told", fields=("ear.symptoms", "ear.impressions"))
def loss_told(context: Context) -> Answer:
    """Whether the ear hears worse; not known where nothing is said, or both. To deny a sudden loss denies no loss."""
    if context.record is None:
        return True if losses(context) else None
    general = group("losses-of-hearing") - group("losses-sudden") - group("losses-fluctuating")
    denied = any(one.said == "absent" for one in told_of(general, _TOLD_IN, context))
    denied = denied or "symptom-none" in there("ear.symptoms", context)
    if losses(context):
        return None if denied else True
    return False if denied else None


@asked("loss_came", fields=_READS, options=("above", "at_most", "within", "longer_ago"))
def loss_came(
    context: Context,
    at_most: int,
    above: int | None = None,
    within: int | None = None,
    longer_ago: int | None = None,
) -> Answer:
    """Whether a loss came on over so many days, and so long before the visit. Not known where either is not told."""
    return any_of(
        all_of((_speed(one.speed, above, at_most), _since(one.since, within, longer_ago))) for one in losses(context)
    )


def _speed(speed: Span | None, above: int | None, at_most: int) -> Answer:
    if speed is None:
        return None
    answers = {(above is None or days > above) and days <= at_most for days in speed}
    return answers.pop() if len(answers) == 1 else None


def _since(since: Span | None, within: int | None, longer_ago: int | None) -> Answer:
    if within is None and longer_ago is None:
        return True
    if since is None:
        return None
    limit = within if within is not None else longer_ago
    recent = {days <= (limit or 0) for days in since}
    return None if len(recent) > 1 else recent.pop() is (within is not None)


@asked("loss_of_one_ear", fields=("ear.symptoms.developed_over",))
def loss_of_one_ear(context: Context) -> Answer:
    """Whether the loss is one of this ear alone: the other ear's record tells of none or of one that is explained, or
    this one came on quickly and the other did not. Else not known: a new loss may have come on top of an old one."""
    other = context.at_ear("left" if context.ear == "right" else "right")
    if not losses(other) or loss_explained(other):
        return True
    limits = (SUDDEN_DAYS, RAPID_DAYS)
    return True if any(loss_came(context, days) and loss_came(other, days) is False for days in limits) else None


def _signs_of_reason() -> Signs:
    return frozenset(named(("visit.reasons",), group("losses-of-hearing")))


@asked("sudden_loss_of_no_ear", fields=("visit.reasons",), about_record=True, wakes=_signs_of_reason)
def sudden_loss_of_no_ear(context: Context) -> bool:
    """Whether a sudden hearing loss is a reason for the visit, and neither ear's record tells of a loss."""
    return context.ear is None and any(one.speed == _SUDDEN for one in losses(context))


@asked("loss_onset_told", fields=("ear.symptoms.onset", "ear.impressions.onset"))
def loss_onset_told(context: Context) -> Answer:
    """Yes where every loss says since when; never no: what is not written down is asked."""
    found = losses(context)
    return True if found and all(one.since for one in found) else None


@asked("loss_speed_told", fields=("ear.symptoms.developed_over",))
def loss_speed_told(context: Context) -> Answer:
    """Yes where every loss says how fast it came on; never no."""
    found = losses(context)
    return True if found and all(one.speed for one in found) else None


@asked("loss_timing_open", fields=_READS, about_record=True)
def loss_timing_open(context: Context) -> bool:
    """Whether what the record says of speed and onset leaves open that the loss was sudden (NG98 1.1.2). A loss that is
    called gradual was not, whatever its days."""
    answers = (
        loss_came(context, SUDDEN_DAYS, within=RECENT_DAYS),
        loss_came(context, SUDDEN_DAYS, longer_ago=RECENT_DAYS),
    )
    return True not in answers and None in answers


@asked("sudden_loss_left_open", fields=_READS, about_record=True)
def sudden_loss_left_open(context: Context) -> bool:
    """Whether a loss is told as sudden and not as older than 30 days, and what explains it is neither told nor ruled
    out."""
    return loss_explained(context) is None and any(
        _speed(one.speed, None, SUDDEN_DAYS) is True and _since(one.since, RECENT_DAYS, None) is not False
        for one in losses(context)
    )


@asked("loss_told_both_ways", fields=("ear.symptoms", "ear.impressions"), about_record=True)
def loss_told_both_ways(context: Context) -> bool:
    """Whether the ear's record names a hearing loss and denies it."""
    return bool(losses(context)) and loss_told(context) is None


@asked("loss_speed_contradicts", fields=_TOLD_IN)
def loss_speed_contradicts(context: Context) -> Answer:
    """Whether speed and onset of a loss cannot both be right, or its words say two speeds."""
    named = [one for one in _named(context) if one.said in SAID_TO_BE]
    words = {_speed_in_words(one) for one in named} - {None}
    if len(words) > 1:
        return True
    denied = {one.said for one in _named(context) if not one.concepts.isdisjoint(group("losses-sudden"))} & {"absent"}
    if denied and _SUDDEN in words:
        return True
    return any_of(_one_contradicts(one, context) for one in named) if named else None


def _one_contradicts(one: Stated, context: Context) -> Answer:
    number, word = told_speed(one.item), _speed_in_words(one)
    since = days_since(getattr(one.item, "onset", None), context)
    if getattr(one.item, "onset", None) and since is None:
        return True
    if number and word and not _fits(number, word):
        return True
    shortest = number[0] - _SLACK.get(one.item.developed_over.unit, 1) if number else word[0] if word else None
    if shortest is None or since is None:
        return False
    return True if shortest > since[1] else None if shortest > since[0] else False
