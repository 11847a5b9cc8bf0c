"""Completes a visit from the practice's settings. What the record says is never changed."""

from __future__ import annotations

from bridge.issues import Issue, Where, issue
from bridge.practice.complete_doctor import complete_doctor
from bridge.practice.complete_people import complete_people, with_those_named
from bridge.practice.complete_recipient import complete_recipient
from bridge.practice.names import fold
from bridge.practice.settings import Practice
from bridge.same_clinic import of_another
from bridge.visit import Client, Clinic, Visit


def complete(visit: Visit, practice: Practice) -> tuple[Visit, list[Issue]]:
    """The visit with clinic, practitioners, family doctor and receiver of a referral filled in, and what could not be.

    Issues carry the field path and the visit's number. NHS numbers that were not traced are left out
    where the practice wants that. A visit of another clinic is completed with nothing: under its keys the settings
    know other people and places (R351, R352). Who is named at its work or approval is one of its practitioners; that
    it names nobody is told of no visit but our own, for only they could say who it was.
    """
    if of_another(visit.clinic, practice.clinic):
        client, issues = _nhs_number(visit.client, practice)
        issues = [_whose(visit, practice), *issues]
        updates = {"client": client, **with_those_named(visit)}
        return visit.model_copy(update=updates), [i.at(record=visit.number) for i in issues]
    clinic, issues = _clinic(visit.clinic, practice.clinic), list[Issue]()
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


def _clinic(recorded: Clinic | None, own: Clinic) -> Clinic:
    if recorded is None:
        return own
    gaps = {name: getattr(own, name) for name in Clinic.model_fields if getattr(recorded, name) is None}
    return recorded.model_copy(update=gaps)


def _whose(visit: Visit, practice: Practice) -> Issue:
    """That another clinic saw the client; a warning where only a key is named that one of our own people has."""
    known = {fold(word) for staff in practice.practitioners for word in (*staff.full_names(), staff.key)}
    if any(fold(p.key) in known and not p.name for p in visit.practitioners):
        text = "The record names another clinic than the practice settings, and one of your own people as practitioner."
        return issue("R351", text, Where(path="clinic.name"), cause="R351")
    text = "Another clinic saw this client: the visit is kept as theirs, and no letter of it is due here."
    return issue("R352", text, Where(path="clinic.name"), cause="R352")


def _nhs_number(client: Client, practice: Practice) -> tuple[Client, list[Issue]]:
    if practice.nhs_numbers == "as recorded" or client.nhs_number is None or client.nhs_number_status == "01":
        return client, []
    text = "The NHS number was left out: the record does not say that it was traced (status 01)."
    left_out = client.model_copy(update={"nhs_number": None, "nhs_number_status": None})
    return left_out, [issue("R350", text, Where(path="client.nhs_number"), cause="R350")]
