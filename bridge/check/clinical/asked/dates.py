"""What a record surely says of two moments. Where a partial date could mean either, nothing is wrong: the month of a
visit is no date after it. A date that the record does not have contradicts nothing."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from functools import cache
from typing import Any

from pydantic import BaseModel

from bridge.check.clinical.answers import Answer
from bridge.check.clinical.asked import asked
from bridge.check.clinical.context import Context
from bridge.check.clinical.fields import values
from bridge.check.clinical.kinds_numbers import in_unit
from bridge.check.clinical.moments_between import span
from bridge.check.clinical.signs import told
from bridge.ear_words import EARS
from bridge.moments import later

_PAIRS = {
    "recorded_before_visit": ("visit.start", "visit.recorded_at"),
    "approved_before_visit": ("visit.start", "visit.approved.at"),
    "approved_before_visit_end": ("visit.end", "visit.approved.at"),
    "sharing_after_approval": ("visit.sharing.at", "visit.approved.at"),
    "sharing_ends_before_given": ("visit.sharing.at", "visit.sharing.valid_until"),
    "sharing_withdrawn_before_given": ("visit.sharing.at", "visit.sharing.withdrawn_at"),
}
"""Questions by name: whether the first moment surely lies after the second."""


def _compare(name: str, one: str, other: str) -> None:
    @asked(name, fields=(one, other), about_record=True)
    def compared(context: Context) -> Answer:
        first, second = values(one, context), values(other, context)
        if not first or not second:
            return False
        return later(first[0], second[0])


for _name, (_one, _other) in _PAIRS.items():
    _compare(_name, _one, _other)


_DATES = ("onset", "date", "ended", "since", "start", "due", "by_when", "taken_at")
"""The fields by which the items of a visit are dated."""
_DATED = told(*(f"item.{name}" for name in _DATES))


def _dates(item: BaseModel) -> list[str]:
    return [_day(moment) for name in _dated_by(type(item)) if (moment := getattr(item, name))]


@cache
def _dated_by(model: type[BaseModel]) -> tuple[str, ...]:
    return tuple(name for name in _DATES if name in model.model_fields)


@asked("dated_after_visit_day", fields=("item", "visit.start"), about_record=True, wakes=_DATED)
def dated_after_visit_day(context: Context) -> Answer:
    """Whether a date of the item surely lies on a later day than the visit."""
    dates = _dates(context.item)
    return bool(dates) and any(later(moment, _day(context.visit.start)) for moment in dates)


@asked("dated_before_visit_day", fields=("item", "visit.start"), about_record=True, wakes=_DATED)
def dated_before_visit_day(context: Context) -> Answer:
    """Whether a date of the item surely lies on an earlier day than the visit."""
    dates = _dates(context.item)
    return bool(dates) and any(later(_day(context.visit.start), moment) for moment in dates)


@asked("dated_before_birth", fields=("item", "visit.client.birth_date"), about_record=True, wakes=_DATED)
def dated_before_birth(context: Context) -> Answer:
    """Whether a date of the item surely lies before the client's birth."""
    dates = _dates(context.item)
    return bool(dates) and any(later(context.visit.client.birth_date or "", moment) for moment in dates)


def _day(moment: str) -> str:
    return moment.partition("T")[0]


@asked("consent_after_visit", fields=("visit.end", "visit.consent.at", "visit.start"))
def consent_after_visit(context: Context) -> Answer:
    """Whether consent to treatment was given after the visit had ended. Not known where it was given after the start,
    on the same day, and the end is not recorded."""
    visit = context.visit
    at = visit.consent.at if visit.consent else None
    if at is None:
        return None
    if later(_day(at), _day(visit.end or visit.start)):
        return True
    if visit.end is None:
        return None if later(at, visit.start) else False
    return later(at, visit.end)


@asked("used_when_expired", fields=("item.expiry", "item.when", "visit.start"), about_record=True)
def used_when_expired(context: Context) -> Answer:
    """Whether it had expired on the day of the visit, and was not only advised. A month lasts to its last day."""
    left = _days_left(context, "visit.start")
    return left is not None and left < 0 and context.item.when != "advised"


@asked("expires_within", fields=("item.expiry", "item.when", "visit.start"), options=("days",), about_record=True)
def expires_within(context: Context, days: int) -> Answer:
    """Whether it expires within so many days of the visit, was good on its day, and was not only advised."""
    left = _days_left(context, "visit.start")
    return left is not None and 0 <= left <= days and context.item.when != "advised"


@asked("expired_at_first_use", fields=("item.start", "item.expiry"))
def expired_at_first_use(context: Context) -> Answer:
    left = _days_left(context, "item.start")
    return None if left is None else left < 0


def _days_left(context: Context, since: str) -> int | None:
    """Days from a moment to the last day on which the item's expiry can be meant; the fewest that are sure."""
    expiry, start = values("item.expiry", context), values(since, context)
    return (span(expiry[0])[1] - span(start[0])[0]).days if expiry and start else None


@asked("visit_lasts_longer", fields=("visit.end", "visit.start"), options=("hours",))
def visit_lasts_longer(context: Context, hours: int) -> Answer:
    """Not known where a time of day is missing."""
    length = _length(context)
    return None if length is None else length > timedelta(hours=hours)


@asked(
    "shorter_than_its_work",
    fields=("visit.end", "visit.start", "visit.right.work.duration", "visit.left.work.duration"),
)
def shorter_than_its_work(context: Context) -> Answer:
    """Whether the work on both ears together took longer than the visit; a minute is given for rounding. Not known
    where a time of day is missing, or a duration has a unit that is none of time."""
    length = _length(context)
    spent = [in_unit(v, "s") for ear in EARS for v in values(f"visit.{ear}.work.duration", context)]
    known = [seconds for seconds in spent if seconds is not None]
    if length is None or len(known) < len(spent):
        return None
    return sum(known, Decimal(0)) > Decimal(length.total_seconds()) + 60


def _length(context: Context) -> timedelta | None:
    start, end = context.visit.start, context.visit.end
    if end is None or "T" not in start or "T" not in end:
        return None
    try:
        return datetime.fromisoformat(end) - datetime.fromisoformat(start)
    except (ValueError, OverflowError):
        return None


@asked(
    "developed_longer_than_there",
    fields=("item.onset", "item.developed_over", "visit.start"),
    about_record=True,
    wakes=told("item.developed_over"),
)
def developed_longer_than_there(context: Context) -> Answer:
    """Whether a symptom came on over a longer time than it has been there; a partial onset counts from its first day,
    and an eighth is given, since people tell such times in round numbers."""
    symptom: Any = context.item
    if symptom.onset is None or symptom.developed_over is None:
        return False
    seconds = in_unit(symptom.developed_over, "s")
    there = span(context.visit.start)[1] - span(symptom.onset)[0] + timedelta(days=1)
    return seconds is not None and there.days > 0 and seconds > Decimal(there.total_seconds()) * 9 / 8
