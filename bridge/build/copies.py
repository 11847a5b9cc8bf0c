"""Who gets which letter of a visit that has a referral, in words, for the distribution list of each."""

from __future__ import annotations

from bridge.build.context import Context
from bridge.due import letters_due
from bridge.visit.care import Referral
from bridge.visit.people import FamilyDoctor


def copies(context: Context) -> list[str]:
    """One line for each kind of letter; none for a visit without a referral, whose only reader is the head's."""
    visit = context.visit
    if visit.referral is None:
        return []
    due = letters_due(visit)
    referral = _receiver(visit.referral) if "referral" in due else "none is made"
    summary = _doctor(visit.family_doctor) if "summary" in due else "none is made; the family doctor is not told by us"
    return [f"Referral letter: {referral}.", f"Visit summary: {summary}."]


def _receiver(referral: Referral) -> str:
    service = referral.recipient
    named = (service.name or service.key) if service else None
    return f"{named} ({referral.to.text})" if named and named != referral.to.text else referral.to.text


def _doctor(doctor: FamilyDoctor | None) -> str:
    named = (doctor.practice or doctor.key) if doctor else None
    return f"{named} (family doctor)" if named else "the family doctor"
