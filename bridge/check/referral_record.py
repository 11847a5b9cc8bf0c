"""C: whether a referral is of one mind with itself and with the visit, whatever is made of the record."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC

from bridge.issues import Issue, Where, issue
from bridge.moments import later
from bridge.referral_place import not_a_place
from bridge.referral_tables import last_day, last_moment
from bridge.referral_target import is_place_of_family_doctor, is_same
from bridge.visit import Visit
from bridge.visit.care import Referral

_DAY = len("2026-11-03")


def check_referral_record(visit: Visit) -> Iterator[Issue]:
    """Its receiver and its moments; nothing for a visit without a referral."""
    referral = visit.referral
    if referral is not None:
        yield from _receiver(visit, referral)
        yield from _last_day(visit, referral)
        yield from _told(visit, referral)


def _receiver(visit: Visit, referral: Referral) -> Iterator[Issue]:
    if found := not_a_place(referral.to):
        quoted = referral.to.text if len(referral.to.text) <= 60 else f"{referral.to.text[:59]}…"
        message = f"“{quoted}” stands as the receiver of a referral, and {found}."
        yield issue("C153", message, Where(path="referral.to"), cause=f"C153:{referral.to.text.casefold()}")
        return
    if not is_place_of_family_doctor(referral):
        return
    doctor = visit.family_doctor
    if referral.recipient and not is_same(referral, doctor):
        message = "The referral is to the family doctor, and names another receiver."
        yield issue("C154", message, Where(path="referral.recipient"), cause="C154")
    elif doctor is not None and doctor.answer != "known":
        message = f"The referral is to the family doctor, and the family doctor is recorded as {doctor.answer}."
        yield issue("C152", message, Where(path="referral.to"), cause=f"C152:{doctor.answer}")


def _limit(visit: Visit, referral: Referral) -> str:
    """Up to when the client is to be seen by what the urgency means; the whole day where only that is known."""
    return last_moment(visit.start, referral.urgency, UTC) or last_day(visit.start, referral.urgency)


def _last_day(visit: Visit, referral: Referral) -> Iterator[Issue]:
    by, limit = referral.by, _limit(visit, referral)
    where = Where(path="referral.by")
    if by and later(visit.start, by):
        message = "The day by which the client is to be seen lies before the visit."
        yield issue("C148", message, where, cause="C148:before")
    elif by and limit and later(by, limit):
        message = f"The referral is {referral.urgency}, and its last day lies after the time that this means."
        yield issue("C148", message, where, cause=f"C148:{referral.urgency}")
    elif by and len(by) < _DAY:
        message = "The time by which the client is to be seen is a month or a year, and no day."
        yield issue("C149", message, where, cause="C149")
    if referral.urgency == "immediate" and "T" not in visit.start and not (by and "T" in by):
        message = "The referral is immediate, and the visit has no time of day from which to count."
        yield issue("C151", message, Where(path="start"), cause="C151")


def _told(visit: Visit, referral: Referral) -> Iterator[Issue]:
    at, where = referral.told_at, Where(path="referral.told_at")
    if at is None:
        return
    if later(visit.start, at):
        message = "The receiver of the referral was told before the visit began, as the record has it."
        yield issue("C150", message, where, cause="C150:before")
    elif later(at, referral.by or "") or later(at, _limit(visit, referral)):
        message = "The receiver was told after the time by which the client is to be seen, as the record has it."
        yield issue("C150", message, where, cause="C150:after")
    elif len(at) < _DAY:
        message = "When the receiver was told is a month or a year, and no day."
        yield issue("C150", message, where, cause="C150:day")
