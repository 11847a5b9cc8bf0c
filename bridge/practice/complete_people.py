"""The practitioners of a visit, from the practice's settings."""

from __future__ import annotations

from typing import Any

from bridge.ear_words import EARS
from bridge.issues import Issue, Where, issue
from bridge.practice.names import fold, listed, nearest, quoted
from bridge.practice.settings import Practice, Staff
from bridge.visit import EarRecord, Practitioner, Visit


def complete_people(visit: Visit, practice: Practice) -> tuple[dict[str, Any], list[Issue]]:
    """Updates for the visit: practitioners as the settings explain them, and their keys wherever named.

    Whoever is named at a piece of work is one of the visit's practitioners.
    """
    desk = _Desk(practice, visit.start[:10])
    people = {p.key: p for index, old in enumerate(visit.practitioners) if (p := desk.person(old, index))}
    ears: dict[str, EarRecord] = {ear: _ear(record, ear, desk, people) for ear in EARS if (record := visit.ear(ear))}
    updates: dict[str, Any] = {"practitioners": tuple(people.values()), **_said_once(ears, people)}
    if visit.approved:
        by = desk.key(visit.approved.by, "approved.by", people)
        updates["approved"] = visit.approved.model_copy(update={"by": by})
    if not people and visit.attendance == "attended":
        text = "The record does not say who saw the client."
        desk.issues.append(issue("R334", text, Where(path="practitioners"), cause="R334"))
    return updates, desk.issues


def with_those_named(visit: Visit) -> dict[str, Any]:
    """Updates for a visit that no settings explain: whom only a piece of work or the approval names is one of its
    practitioners too, by the bare key."""
    ears: dict[str, EarRecord] = {ear: record for ear in EARS if (record := visit.ear(ear))}
    keys = [w.practitioner for record in ears.values() for w in record.work]
    keys += [visit.approved.by] if visit.approved else []
    people = {p.key: p for p in visit.practitioners}
    people |= {key: Practitioner(key=key) for key in keys if key and key not in people}
    return {"practitioners": tuple(people.values()), **_said_once(ears, people)}


def _said_once(ears: dict[str, EarRecord], people: dict[str, Practitioner]) -> dict[str, EarRecord]:
    """The visit's only practitioner is not named again beside their work, as a `Visit` that is read has it."""
    if len(people) != 1:
        return ears
    return {
        ear: record.model_copy(
            update={
                "work": tuple(
                    w.model_copy(update={"practitioner": None}) if w.practitioner in people else w for w in record.work
                )
            }
        )
        for ear, record in ears.items()
    }


def _ear(record: EarRecord, ear: str, desk: _Desk, people: dict[str, Practitioner]) -> EarRecord:
    works = []
    for index, work in enumerate(record.work):
        if work.practitioner:
            key = desk.key(work.practitioner, f"{ear}.work[{index}].practitioner", people)
            if key not in people and (staff := desk.known.get(fold(key))):
                people[key] = staff.as_practitioner()
            work = work.model_copy(update={"practitioner": key})
        works.append(work)
    return record.model_copy(update={"work": tuple(works)})


class _Desk:
    """Answers who somebody is on the day of one visit, and keeps what it could not answer."""

    def __init__(self, practice: Practice, day: str) -> None:
        self.day = day
        self.issues: list[Issue] = []
        self.known: dict[str, Staff] = {
            fold(word): staff for staff in practice.practitioners for word in (*staff.full_names(), staff.key)
        }
        self._shown = [word for staff in practice.practitioners for word in (staff.key, staff.full_names()[0])]

    def person(self, recorded: Practitioner, index: int) -> Practitioner:
        path = f"practitioners[{index}]"
        staff = self.known.get(fold(recorded.key))
        if staff is None:
            self._unknown(recorded, path)
            return recorded
        self._check_day(staff, path)
        told = {name: value for name in Practitioner.model_fields if (value := getattr(recorded, name))}
        if recorded.registrations or recorded.no_register:
            told = {**told, "registrations": recorded.registrations, "no_register": recorded.no_register}
        return staff.as_practitioner().model_copy(update={**told, "key": staff.key})

    def key(self, written: str, path: str, people: dict[str, Practitioner]) -> str:
        """The settings' key for what is written; what is written where nobody is known by it."""
        if staff := self.known.get(fold(written)):
            if staff.key not in people:
                self._check_day(staff, path)
            return staff.key
        if written not in people:
            self._unknown(Practitioner(key=written), path)
        return written

    def _check_day(self, staff: Staff, path: str) -> None:
        if len(self.day) == len("2026-03-01") and not staff.works_on(self.day):
            text = f"Practitioner {quoted(staff.key)} does not work on {self.day}, as the practice settings have it."
            self.issues.append(issue("R332", text, Where(path=path)))

    def _unknown(self, recorded: Practitioner, path: str) -> None:
        cause = f"practitioner:{fold(recorded.key)}"
        if recorded.name and recorded.role and (recorded.registrations or recorded.no_register):
            text = f"Practitioner {quoted(recorded.key)} is not in the practice settings; what the record says is sent."
            self.issues.append(issue("R333", text, Where(path=path), cause=cause))
            return
        near = nearest(recorded.key, self._shown)
        hint = f" Nearest there: {listed([quoted(n) for n in near])}." if near else ""
        text = f"The practitioner {quoted(recorded.key)} is not in the practice settings.{hint}"
        self.issues.append(issue("R330", text, Where(path=path), cause=cause))
