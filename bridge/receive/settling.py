"""Visits that arrived in one run: whose they are, whose numbers clash, which version, which document says most."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from bridge.issues import Issue, Where, issue
from bridge.receive.matching import Held, contradictions
from bridge.receive.rows.compare import said_otherwise
from bridge.receive.same_visit import client_apart, contained, facts, fullest, numbered_apart
from bridge.same_clinic import same_clinic
from bridge.visit import Clinic, Visit


@dataclass(slots=True)
class Settled:
    """One visit that arrived. `visit` is as it is to be kept; None where it is not to be."""

    visit: Visit | None
    fullest: bool = True
    """Of several documents of the visit, whether this is the one that says most."""
    issues: list[Issue] = field(default_factory=list)


class Settling:
    """What is there already, and what of it concerns visits that arrive."""

    def __init__(self, own: Clinic | None = None) -> None:
        self.own = own
        self._clients = Held(own)
        self._visits: dict[str, list[Visit]] = {}
        self._any = False

    def hold(self, visit: Visit) -> None:
        """A visit of the practice's own records."""
        self._any = True
        self._clients.add(visit)
        self._visits.setdefault(visit.number.casefold(), []).append(visit)

    def settle(self, arrived: Sequence[Visit], kinds: Sequence[str]) -> list[Settled]:
        """One answer for each visit, in their order. `kinds`: of the document that each came in."""
        found = [self._client(visit) if self._any else Settled(visit) for visit in arrived]
        self._client_numbers(found)
        self._numbers(found)
        self._versions(found)
        self._several(found, kinds)
        return found

    def _client(self, visit: Visit) -> Settled:
        match = self._clients.match(visit)
        where = Where(record=visit.number)
        there = match.held.number if match.held else ""
        number = match.held.client.number if match.held else None
        if match.answer == "refused":
            message = (
                f"An identifier is that of the client of your visit {there}, and this contradicts it: {match.why}."
            )
            return Settled(None, False, [issue("X171", message, where)])
        if match.answer == "same":
            message = (
                f"The client is the one of your visit {there}; the visit is filed under your number of that client."
            )
            return Settled(client_apart(visit, number), True, [issue("X172", message, where)])
        told = []
        if match.answer == "question":
            message = (
                f"The client may be the one of your visit {there}: {match.why} agree, which is not enough to be sure."
            )
            told.append(issue("X170", message, where))
        if self._clients.takes_number(visit):
            visit = client_apart(visit, None)
            message = "Another client of yours has the client number of the sender; it was kept as the sender's number."
            told.append(issue("X175", message, where, cause="X175:client"))
        return Settled(visit, True, told)

    def _numbers(self, found: list[Settled]) -> None:
        """Two visits with one number and no chance to be one get two numbers."""
        first: dict[tuple[str, int], Visit] = {}
        for held in (v for visits in self._visits.values() for v in visits):
            first.setdefault((held.number.casefold(), held.version), held)
        for one in found:
            visit = one.visit
            if visit is None:
                continue
            others = [*self._visits.get(visit.number.casefold(), ())]
            if same := first.get((visit.number.casefold(), visit.version)):
                others.append(same)
            if any(self._clash(visit, other) for other in others):
                apart = numbered_apart(visit)
                if apart.number == visit.number or (apart.number.casefold(), apart.version) in first:
                    apart = visit.model_copy(update={"number": f"{visit.number[:180]}-{_digest(visit)}"})
                message = "Another visit has this number; the one that arrived was given a number of its own beside it."
                one.issues.append(issue("X175", message, Where(record=visit.number), cause="X175:visit"))
                one.visit = visit = apart
            first.setdefault((visit.number.casefold(), visit.version), visit)

    def _client_numbers(self, found: list[Settled]) -> None:
        """Two clients of two clinics under one number: the later one is told under none."""
        first: dict[str, Visit] = {}
        for one in found:
            visit = one.visit
            if visit is None or not visit.client.number:
                continue
            other = first.setdefault(visit.client.number.casefold(), visit)
            if same_clinic(visit.clinic, other.clinic) is not True and contradictions(visit.client, other.client):
                message = "Another client arrived under this client number; it was kept as the sender's number."
                one.issues.append(issue("X175", message, Where(record=visit.number), cause="X175:client"))
                one.visit = client_apart(visit, None)

    def _clash(self, visit: Visit, other: Visit) -> bool:
        """Whether two visits with one number cannot be one."""
        same = same_clinic(visit.clinic or self.own, other.clinic or self.own)
        if same is False:
            return True
        if same and visit.version != other.version:
            return False  # a correction may change anything
        return visit.start[:10] != other.start[:10] or bool(contradictions(visit.client, other.client))

    def _several(self, found: list[Settled], kinds: Sequence[str]) -> None:
        """Several documents of one visit: one that another holds wholly makes no file of its own.

        The same document in several forms is one, and makes the same file again.
        """
        visits: dict[tuple[str, int], list[tuple[str, Settled]]] = {}
        for one, kind in zip(found, kinds, strict=True):
            if one.visit:
                visits.setdefault((one.visit.number.casefold(), one.visit.version), []).append((kind, one))
        for documents in visits.values():
            if len(documents) > 1:
                _several_of_one(documents)

    def _versions(self, found: list[Settled]) -> None:
        for one in found:
            if one.visit:
                one.issues += self._version(one, one.visit)

    def _version(self, one: Settled, visit: Visit) -> Iterator[Issue]:
        held = self._visits.get(visit.number.casefold(), [])
        if not held:
            return
        where, versions = Where(record=visit.number), [other.version for other in held]
        newest = max(versions)
        if visit.version in versions:
            other = held[versions.index(visit.version)]
            if _same(other, visit):
                one.visit = None
                told = "You hold this version of the visit already; what arrived says nothing more."
                yield issue("X179", told, where, cause="X179")
            else:
                told = "You hold this version of the visit, and it says something else than the one that arrived."
                yield issue("X174", told, where, cause="X174:differs")
        elif visit.version < newest:
            told = f"Version {visit.version} arrived; you hold version {newest}, which is newer. Keep using yours."
            yield issue("X174", told, where)
        else:
            told = f"Version {visit.version} arrived; you hold version {newest}, which it is newer than."
            yield issue("X173", told, where)


_COMPARED = 40
"""Documents of one visit that are compared each with each; nobody sends more in good faith."""
_COMPLETED = (
    "clinic",
    "practitioners",
    "family_doctor",
    "referral.recipient",
    "recorded_at",
    "client.nhs_number_status",
)
"""What a document says more than the record that it was made from, out of the settings of the practice."""


def _same(held: Visit, visit: Visit) -> bool:
    """Whether what arrived says nothing that the record which is there does not; a letter leaves things out."""
    more = said_otherwise(visit, held)
    return not [path for path in more if not path.startswith(_COMPLETED) and not path.endswith(".safety_net")]


def _several_of_one(documents: Sequence[tuple[str, Settled]]) -> None:
    group: dict[tuple[str, frozenset[tuple[str, str]]], list[Settled]] = {}
    for kind, one in documents:
        if one.visit:
            group.setdefault((kind, facts(one.visit)), []).append(one)
    for forms in group.values():
        for again in forms[1:]:
            again.fullest = False
    if len(group) > 1:
        _told_apart(list(group.values()))


def _told_apart(group: list[list[Settled]]) -> None:
    visits = [forms[0].visit for forms in group if forms[0].visit]
    inside = contained(visits) if len(visits) <= _COMPARED else {}
    most = fullest(visits)
    where = Where(record=visits[most].number)
    for at, forms in enumerate(group):
        forms[0].fullest = at == most
        if at in inside:
            told = "Another document of this visit says all that this one says; one file is made of both."
            forms[0].issues.append(issue("X176", told, where, cause="X176"))
            for one in forms:
                one.visit = None
    if len(group) - len(inside) > 1:
        told = "Documents of this visit hold different parts of it; this one says most. As a record keep its file."
        group[most][0].issues.append(issue("X177", told, where, cause="X177"))


def _digest(visit: Visit) -> str:
    client = visit.client
    parts = (visit.start, str(client.legal_name), client.birth_date or "", client.nhs_number or "", client.number or "")
    return hashlib.sha256("\x1f".join(parts).encode("utf-8", "replace")).hexdigest()[:6]
