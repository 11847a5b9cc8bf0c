"""Numbers of one finding or one piece of work against each other. What is not recorded contradicts nothing."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from bridge.check.clinical.answers import Answer
from bridge.check.clinical.asked import asked
from bridge.check.clinical.context import Context
from bridge.check.clinical.kinds_numbers import in_unit

_ROUNDING = Decimal(60)
"""Seconds; how far a duration in minutes may be off."""


@asked("depth_between", fields=("item.depth",), options=("above", "at_most"), about_record=True)
def depth_between(context: Context, above: int, at_most: int = 0) -> Answer:
    """Whether a place lies deeper than so many mm, up to a second limit where there is one. Depths are in mm."""
    place: Any = context.item
    return place.depth is not None and bool(place.depth.value > above and (not at_most or place.depth.value <= at_most))


@asked("stated_with_share_of", fields=("item.percent", "item.term"), options=("percent",), about_record=True)
def stated_with_share_of(context: Context, percent: int) -> Answer:
    """Whether a finding is stated, not denied, suspected or past, and its share is exactly so much."""
    finding: Any = context.item
    return finding.percent == percent and finding.term.assertion in (None, "present")


@asked("pain_peak_is_not_the_peak", fields=("item.pain_peak", "item.pain_before", "item.pain_after"), about_record=True)
def pain_peak_is_not_the_peak(context: Context) -> Answer:
    """Whether the highest pain is lower than the pain before or after."""
    work: Any = context.item
    others = [score for score in (work.pain_before, work.pain_after) if score is not None]
    return work.pain_peak is not None and max(others, default=0) > work.pain_peak


@asked("suction_outlasts_work", fields=("item.suction.time", "item.duration"), about_record=True)
def suction_outlasts_work(context: Context) -> Answer:
    """Whether suction was on for longer than the work took, by more than rounding to a minute explains."""
    work: Any = context.item
    if work.suction is None or work.suction.time is None or work.duration is None:
        return False
    on, whole = in_unit(work.suction.time, "s"), in_unit(work.duration, "s")
    return on is not None and whole is not None and on >= whole + _ROUNDING
