"""Who gets which letter of a visit that has a referral, in words, for the distribution list of each."""

from __future__ import annotations

from bridge.build.context import Context
from bridge.due import letters_due
from bridge.visit.care import Referral
from bridge.visit.people import FamilyDoctor
from bridge.wording import say


def copies(context: Context) -> list[str]:
    """One line for each kind of letter; none for a visit without a referral, whose only reader is the head's."""
    visit = context.visit
    if visit.referral is None:
        return []
    due, receiver, doctor = letters_due(visit), _receiver(visit.referral), _doctor(visit.family_doctor)
    return [
        say("copies.referral", receiver=receiver) if "referral" in due else say("copies.referral.none"),
        say("copies.summary", receiver=doctor) if "summary" in due else say("copies.summary.none"),
    ]


def _receiver(referral: Referral) -> str:
    service = referral.recipient
    named = (service.name or service.key) if service else None
    return f"{named} ({referral.to.text})" if named and named != referral.to.text else referral.to.text


def _doctor(doctor: FamilyDoctor | None) -> str:
    named = (doctor.practice or doctor.key) if doctor else None
    return say("copies.doctor.named", name=named) if named else say("copies.doctor")
