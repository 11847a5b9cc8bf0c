"""What only the client's own copy says, in plain words: its sections' text, who was told, and red flags."""

from __future__ import annotations

from collections.abc import Iterable

from bridge.build.alert import any_open
from bridge.build.context import Built, Context
from bridge.due import letter_due, letters_due
from bridge.fhir.plain import plain_by_ear
from bridge.fhir.plain.ahead import helpers, receiver
from bridge.fhir.tell.by_ear import Group, Told
from bridge.visit import Visit
from bridge.wording import say


def plain_facts(entries: Iterable[Built]) -> list[Group]:
    """The facts of a section; that they can be asked for, where they have no plain words."""
    return plain_by_ear(b.resource for b in entries) or [Group("", [Told("", [say("copy.kept")])])]


def flagged(context: Context) -> list[str]:
    """That something cannot wait, without a name for it; nothing where no flag asks for it to be seen at once."""
    if not any(alert.urgency == "immediate" for alert in context.alerts):
        return []
    if not any_open(context):
        return [say("copy.alert.answered")]
    return [say("copy.alert.open"), helpers("urgent", context.region.name)]


def told_others(context: Context) -> list[str]:
    """Who gets a letter of this visit, and why nobody does."""
    visit = context.visit
    due = letters_due(visit)
    found = [_doctor(visit, "summary" in due)]
    if visit.referral is not None:
        whom = next(receiver(b.resource) for b in context.built if b.topic == "referral")
        found.append(say("copy.tell.referral" if "referral" in due else "copy.tell.referral.none", whom=whom))
    if visit.requests and "summary" not in due:
        found.append(say("copy.tell.asked.none"))
    return found


def _doctor(visit: Visit, due: bool) -> str:
    doctor, sharing = visit.family_doctor, visit.sharing
    if due:
        named = (doctor.practice or doctor.key) if doctor else None
        return say("copy.tell.summary.to", name=named) if named else say("copy.tell.summary")
    if visit.attendance == "did not attend":
        return say("copy.tell.missed")
    if sharing is None:
        return say("copy.tell.unknown")
    if sharing.status != "given":
        return say(f"copy.tell.{sharing.status.replace(' ', '-')}")
    found = letter_due(visit)
    nobody = found is not None and found.where.path == "family_doctor"
    return say("copy.tell.no-doctor" if nobody else "copy.tell.other")
