"""Pure-tone thresholds held against each other. A level that was not heard says only that the threshold is higher; what
was not tested contradicts nothing."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import Any

from bridge.check.clinical.answers import Answer
from bridge.check.clinical.asked import asked
from bridge.check.clinical.context import Context
from bridge.check.clinical.fields import values
from bridge.check.clinical.signs import told
from bridge.visit import EarRecord
from bridge.visit.ear import Threshold

_OCTAVE = 2
FIVE = (250, 500, 1000, 2000, 4000)
"""Frequencies of the mean of the British Society of Audiology, as quoted by a university page."""
FOUR = (500, 1000, 2000, 4000)
"""Frequencies of the mean of the World report on hearing, table 1.3."""


def _heard(thresholds: Iterable[Threshold], conduction: str) -> dict[int, Decimal]:
    """Levels by frequency; of several at one frequency the best."""
    found: dict[int, Decimal] = {}
    for one in thresholds:
        if one.conduction == conduction and not one.no_response:
            found[one.frequency] = min(one.level, found.get(one.frequency, one.level))
    return found


@asked("threshold_outside", fields=("item.level",), options=("below", "above"), about_record=True)
def threshold_outside(context: Context, below: int, above: int) -> Answer:
    threshold: Any = context.item
    return bool(threshold.level < below or threshold.level > above)


@asked("threshold_between_steps", fields=("item.level",), options=("of",), about_record=True)
def threshold_between_steps(context: Context, of: int) -> Answer:
    threshold: Any = context.item
    return bool(threshold.level % of)


@asked(
    "no_response_below",
    fields=("item.no_response", "item.level", "item.conduction"),
    options=("air", "bone"),
    about_record=True,
)
def no_response_below(context: Context, air: int, bone: int) -> Answer:
    """Whether a tone is told as not heard at a level that is lower than so, by air or by bone."""
    threshold: Any = context.item
    return threshold.no_response and bool(threshold.level < (air if threshold.conduction == "air" else bone))


@asked("bone_is_worse_than_air", fields=("item.thresholds",), options=("by",), about_record=True)
def bone_is_worse_than_air(context: Context, by: int) -> Answer:
    """Whether a bone threshold, heard or not, lies more than so many dB above the air threshold of its frequency."""
    thresholds = values("item.thresholds", context)
    air = _heard(thresholds, "air")
    return any(t.level > air[t.frequency] + by for t in thresholds if t.conduction == "bone" and t.frequency in air)


@asked("threshold_told_twice", fields=("item.thresholds",), about_record=True)
def threshold_told_twice(context: Context) -> Answer:
    """Whether one frequency has two levels of the same conduction and masking."""
    levels = defaultdict(set)
    for one in values("item.thresholds", context):
        levels[one.frequency, one.conduction, one.masked].add((one.level, one.no_response))
    return any(len(several) > 1 for several in levels.values())


@asked("threshold_out_of_step", fields=("item.thresholds",), options=("by",), about_record=True)
def threshold_out_of_step(context: Context, by: int) -> Answer:
    """Whether an air threshold lies so many dB above both its neighbours, or below both; neighbours lie an octave away
    at most."""
    levels = _heard(values("item.thresholds", context), "air")
    return any(min(steps) >= by or max(steps) <= -by for steps in _steps(levels))


def _steps(levels: dict[int, Decimal]) -> Iterator[tuple[Decimal, Decimal]]:
    frequencies = sorted(levels)
    for low, middle, high in zip(frequencies, frequencies[1:], frequencies[2:], strict=False):
        if middle <= low * _OCTAVE and high <= middle * _OCTAVE:
            yield levels[middle] - levels[low], levels[middle] - levels[high]


@asked("set_for_a_mean_is_incomplete", fields=("item.thresholds",), options=("at_least",), about_record=True)
def set_for_a_mean_is_incomplete(context: Context, at_least: int) -> Answer:
    """Whether at least so many frequencies of a mean were tested by air, and neither set is whole."""
    tested = {t.frequency for t in values("item.thresholds", context) if t.conduction == "air"}
    return len(tested & set(FIVE)) >= at_least and not tested >= set(FOUR)


@asked(
    "unmasked_and_worse_than_other",
    fields=("ear.hearing_before", "other.hearing_before"),
    options=("by",),
    about_record=True,
)
def unmasked_and_worse_than_other(context: Context, by: int) -> Answer:
    """Whether an air threshold that no masked one confirms is so much worse than the other ear's at its frequency."""
    other = _heard(_thresholds(context.other, "hearing_before"), "air")
    here = [t for t in _thresholds(context.record, "hearing_before") if t.conduction == "air" and t.frequency in other]
    masked = {t.frequency for t in here if t.masked}
    return any(t.level - other[t.frequency] >= by and t.frequency not in masked for t in here)


@asked(
    "threshold_changes_by",
    fields=("ear.hearing_before", "ear.hearing_after"),
    options=("better", "worse"),
    about_record=True,
    wakes=told("ear.hearing_after.thresholds"),
)
def threshold_changes_by(context: Context, better: int = 0, worse: int = 0) -> Answer:
    """Whether an air threshold after the work is at least so much better, or worse, than before at its frequency."""
    before, after = (_heard(_thresholds(context.record, name), "air") for name in ("hearing_before", "hearing_after"))
    changes = [after[frequency] - before[frequency] for frequency in before.keys() & after.keys()]
    least, most = min(changes, default=Decimal(0)), max(changes, default=Decimal(0))
    return bool((better and least <= -better) or (worse and most >= worse))


def _thresholds(record: EarRecord | None, name: str) -> tuple[Threshold, ...]:
    hearing: Any = getattr(record, name, None)
    return hearing.thresholds if hearing else ()


@asked("admittance_outside", fields=("item.admittance",), options=("below", "above"), about_record=True)
def admittance_outside(context: Context, below: int, above: int) -> Answer:
    """Whether the number of the peak is outside; cm3, mL and mmho are one at 226 Hz, and taken as one."""
    found = values("item.admittance", context)
    return any(one.value < below or one.value > above for one in found)
