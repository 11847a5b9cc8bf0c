"""Completes a visit from the practice's settings. What the record says is never changed."""

from __future__ import annotations

from bridge.issues import Issue, Where, issue
from bridge.practice.complete_doctor import complete_doctor
from bridge.practice.complete_people import complete_people
from bridge.practice.complete_recipient import complete_recipient
from bridge.practice.names import fold
from bridge.practice.settings import Practice
from bridge.visit import Client, Clinic, Visit


def complete(visit: Visit, practice: Practice) -> tuple[Visit, list[Issue]]:
    """The visit with clinic, practitioners, family doctor and receiver of a referral filled in, and what could not be.

    Issues carry the field path and the visit's number. NHS numbers that were not traced are left out
    where the practice wants that.
    """
    clinic, issues = _clinic(visit.clinic, practice.clinic)
    people, more = complete_people(visit, practice)
    issues += more
    doctor, more = complete_doctor(visit.family_doctor, practice.doctors)
    issues += more
    referral, more = complete_recipient(visit.referral, practice.doctors)
    issues += more
    client, more = _nhs_number(visit.client, practice)
    issues += more
    updates = {"clinic": clinic, "family_doctor": doctor, "referral": referral, "client": client, **people}
    return visit.model_copy(update=updates), [i.at(record=visit.number) for i in issues]


def _clinic(recorded: Clinic | None, own: Clinic) -> tuple[Clinic, list[Issue]]:
    if recorded is None:
        return own, []
    if fold(recorded.name) != fold(own.name):
        text = "The record names another clinic than the practice settings."
        return recorded, [issue("R351", text, Where(path="clinic.name"))]
    gaps = {name: getattr(own, name) for name in Clinic.model_fields if getattr(recorded, name) is None}
    return recorded.model_copy(update=gaps), []


def _nhs_number(client: Client, practice: Practice) -> tuple[Client, list[Issue]]:
    if practice.nhs_numbers == "as recorded" or client.nhs_number is None or client.nhs_number_status == "01":
        return client, []
    text = "The NHS number was left out: the record does not say that it was traced (status 01)."
    left_out = client.model_copy(update={"nhs_number": None, "nhs_number_status": None})
    return left_out, [issue("R350", text, Where(path="client.nhs_number"), cause="R350")]
