"""A corridor beside `pipeline`: from all visits of a practice's records to one summary of each client.

A summary is of the whole record or is not made: a visit that has errors, or visits that disagree on whose they are,
leave the client without one, and an issue says why.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field

from pydantic import ValidationError

from bridge.build import Options
from bridge.build.ips import build_client_summary
from bridge.fhir.ids import Ids
from bridge.hash_table import short_hash
from bridge.issues import Issue, Severity, Where, issue
from bridge.one_client import disagreements, in_order, name_words, one_visit, surely_one, two_clients
from bridge.others_met import OthersMet
from bridge.pipeline import Conversion
from bridge.places_met import PlacesMet
from bridge.practice import Practice
from bridge.same_clinic import of_another
from bridge.shapes import Json
from bridge.visit import Visit
from bridge.visit.care import Allergy
from bridge.visit.people import Client
from bridge.whole_record import hand_over, held_back


@dataclass(slots=True)
class Summary:
    """What became of one client's record."""

    stem: str
    """The client's local number, or "client-" and their id: what files are named by, never a name."""
    where: Where
    """The record of the newest visit."""
    visits: list[Visit]
    bundle: Json | None = None
    issues: list[Issue] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class _Record:
    visit: Visit
    where: Where
    failed: bool


_VERSION = re.compile(r"\d{1,3}")
_MOST = 10**9


def as_told(said: object) -> str:
    """A number as a record gives it, where it can be one; a whole number of thousands of digits has no text."""
    return said if isinstance(said, str) else str(said) if isinstance(said, int) and abs(said) < _MOST else ""


@dataclass(frozen=True, slots=True)
class _Broken:
    """A record that is no visit, with the number and version that it gives."""

    number: str
    version: int
    where: Where


def whose(conversion: Conversion, ids: Ids) -> str:
    """The id of the client whom a record names, though it is no visit; empty where nobody can tell."""
    said = conversion.says.get("client")
    if not isinstance(said, Mapping):
        return ""
    number = said.get("number")
    if isinstance(number, str) and number.strip():
        return ids.of("Patient", "number", number.strip())
    try:
        client = Client.model_validate(said)
    except ValidationError:
        return ""
    return ids.client(client) if client.birth_date else ""


class ClientRecords:
    """Takes what became of every record, and then gives the summaries."""

    def __init__(self, practice: Practice, checked: Callable[[Json], list[Issue]], *, consent: bool = True) -> None:
        """`checked` says what is wrong with a finished document. `consent`: whether the consent to share decides; it
        does not where the client gets the record themselves."""
        self.practice = practice
        self._checked = checked
        self._consent = consent
        self._ids = Ids(practice.namespace)
        self._records: dict[str, dict[str, list[_Record]]] = {}
        """The newest version of each visit that names a client, by the visit's number and the client's id: two where
        two records claim to be it, which are errors, and where two clinics gave it."""
        self._others = OthersMet()
        self._broken: dict[str, list[_Broken]] = defaultdict(list)
        """Records that are no visit, by the client whom they name all the same."""
        self._lost: list[Issue] = []
        self._older = 0

    def take(self, conversion: Conversion) -> None:
        """Notes one record; the bundles that it may hold are not kept."""
        visit = conversion.visit
        if visit is None:
            self._without_visit(conversion)
            return
        record = _Record(visit, conversion.where, conversion.state == "need you")
        under = self._records.setdefault(visit.number.casefold(), {})
        there = under.setdefault(self._ids.client(visit.client), [])
        same = [r.visit.version for r in there if one_visit(r.visit, visit)]
        if all(visit.version >= version for version in same):
            kept = [r for r in there if r.visit.version == visit.version or not one_visit(r.visit, visit)]
            there[:] = [*kept, record]

    def other(self, visit: Visit, where: Where) -> None:
        """Notes a visit of somebody whose summary nobody wants: one of the others may be the same person, or name
        another client in a version of the same visit. No more of it is kept."""
        self._others.enter(visit, where)

    def _without_visit(self, conversion: Conversion) -> None:
        client = whose(conversion, self._ids) if conversion.state != "left alone" else ""
        if client:
            number, version = conversion.says.get("number"), _VERSION.fullmatch(as_told(conversion.says.get("version")))
            broken = _Broken(as_told(number).casefold(), int(version[0]) if version else 1, conversion.where)
            self._broken[client].append(broken)
        elif conversion.state != "left alone":
            message = "Nobody can tell whose visit this record is, so it is in no summary."
            self._lost.append(issue("D166", message, conversion.where, cause="D166"))
        elif conversion.left_alone.startswith("before "):
            self._older += 1

    def told_of_records(self) -> list[Issue]:
        """What is in no summary: records that could not be read (D166), rows before the layout's first day (D168)."""
        lost = [*self._lost, *self._lost_of_clients()]
        if not self._older:
            return lost
        said = "1 row that your layout leaves alone as too old is" if self._older == 1 else (
            f"{self._older} rows that your layout leaves alone as too old are")  # fmt: skip
        return [*lost, issue("D168", f"{said} in no summary.", cause="D168")]

    def _lost_of_clients(self) -> Iterator[Issue]:
        """Records that are no visit and keep no summary back: of a client without any visit, or of an older version
        whose place a newer one took."""
        seen = {client for under in self._records.values() for client in under}
        for client, found in self._broken.items():
            for broken in found:
                if client not in seen or self._replaced(client, broken):
                    message = "This record is no visit as it stands, so it is in no summary."
                    yield issue("D166", message, broken.where, cause="D166")

    def _replaced(self, client: str, broken: _Broken) -> bool:
        """By a newer version that names the same client."""
        own, under = self.practice.clinic, self._records.get(broken.number, {})
        same = [r.visit for r in under.get(client, []) if not of_another(r.visit.clinic, own)]
        return any(visit.version > broken.version for visit in same)

    def summaries(self, wanted: Callable[[str], bool] | None = None) -> Iterator[Summary]:
        """One for each client, or for each whose stem is `wanted`, in the order of their stems; made, or told why
        not."""
        clients: dict[str, list[_Record]] = defaultdict(list)
        doubtful: dict[str, list[Issue]] = defaultdict(list)
        for id, record, issues in self._that_hold():
            clients[id].append(record)
            doubtful[id] += issues
        people = [(id, r.visit.client) for id, records in clients.items() for r in records]
        shared = _seen_twice([*people, *((self._ids.client(c), c) for c in self._others.clients)])
        found = [(self._stem(id, records), id, records) for id, records in clients.items()]
        for stem, id, records in sorted((f for f in found if wanted is None or wanted(f[0])), key=lambda f: f[:2]):
            broken = [b.where for b in self._broken.get(id, ()) if not self._replaced(id, b)]
            issues = [*doubtful[id], *(_left_out(at) for at in broken), *([_maybe_two()] if id in shared else [])]
            yield self._summary(stem, records, issues)

    def _that_hold(self) -> Iterator[tuple[str, _Record, list[Issue]]]:
        """Client, record and D160 for each that no newer version replaces, and for each that one of another client
        would."""
        for under in self._records.values():
            for id, records in under.items():
                for record in records:
                    versions = [
                        r for other, rs in under.items() if other != id for r in rs if one_visit(r.visit, record.visit)
                    ]
                    told = self._another_client(record, versions)
                    if told or all(r.visit.version <= record.visit.version for r in versions):
                        yield id, record, told

    def _another_client(self, record: _Record, versions: list[_Record]) -> list[Issue]:
        """D160 where a version of the visit names another client."""
        places, where = PlacesMet(), record.where
        at = next((places.number(r.where) for r in versions if two_clients(record.visit, r.visit)), None)
        told = self._others.other_version(record.visit, where) if at is None else places.told(at, where)
        if not told:
            return []
        number = record.visit.number
        message = f"Another version of this visit, in {told}, is of another client."
        found = issue("D160", message, Where(record=number), cause=f"D160:{short_hash(number.casefold(), told):x}")
        return [found.at(file=where.file, sheet=where.sheet, row=where.row, unseen=where.unseen)]

    @staticmethod
    def _stem(id: str, records: list[_Record]) -> str:
        return next((r.visit.client.number for r in records if r.visit.client.number), f"client-{id}")

    def _summary(self, stem: str, records: list[_Record], issues: list[Issue]) -> Summary:
        visits = in_order((r.visit for r in records), self.practice.zone)
        where = {r.visit.number: r.where for r in records}
        summary = Summary(stem, where[visits[-1].number], visits)
        found = [*_failed(records), *issues, *_whose(visits)]
        consent = hand_over(visits, self.practice.clinic) if self._consent else None
        found += [consent] if consent else []
        if not held_back(consent) and not any(i.severity >= Severity.error for i in found):
            found += disputes(visits)
            practice = self.practice
            options = Options(practice.region, practice.codes == "licensed", practice.language, practice.clinic)
            bundle = build_client_summary(visits, practice.namespace, practice.zone, options)
            found += self._checked(bundle)
            summary.bundle = None if any(i.severity >= Severity.error for i in found) else bundle
        summary.issues = [_placed(i, summary) for i in found]
        return summary


def disputes(visits: list[Visit]) -> list[Issue]:
    """D165 where the newest answer on allergies or medicines is "none" and an earlier visit names some, and where a
    visit denies an allergy by name; the earlier one may not be struck off without a person."""
    found = []
    for what, path in (("allergies", "allergies"), ("medicines", "medicines")):
        told = [a for a in (getattr(v, path) for v in visits) if a is not None and a.answer != "not asked"]
        if told and told[-1].answer and any(a.items for a in told):
            message = f"The newest visit that asked for {what} names none, and an earlier one names some."
            found.append(issue("D165", message, Where(path=path), cause=f"D165:{what}"))
    items = [(a.term.assertion, a) for v in visits if v.allergies for a in v.allergies.items]
    denied = {_allergen(a) for said, a in items if said == "absent"}
    if any(said != "absent" and _allergen(a) in denied for said, a in items):
        message = "One visit names an allergy that another says the client does not have."
        found.append(issue("D165", message, Where(path="allergies"), cause="D165:denied"))
    return found


def _allergen(allergy: Allergy) -> str:
    """What the allergy is to, by the last of its codes or by its words."""
    term = allergy.term
    return term.codings[-1].code if term.codings else " ".join(term.text.casefold().split())


_ERRORS = "This visit has errors, so no summary of its client is written: it would lack the visit."


def _failed(records: list[_Record]) -> list[Issue]:
    """D161 for each visit with errors, at its own place."""
    return [
        issue("D161", _ERRORS, Where(record=r.visit.number), cause="D161").at(
            file=r.where.file, sheet=r.where.sheet, row=r.where.row, unseen=r.where.unseen
        )
        for r in records
        if r.failed
    ]


def _left_out(where: Where) -> Issue:
    """D161 for a record of the client that is no visit for its errors."""
    return issue("D161", _ERRORS, where, cause="D161")


def _whose(visits: list[Visit]) -> list[Issue]:
    """D160 where the visits may not be of one person."""
    differs = disagreements(visits)
    if differs:
        said = ", ".join(differs[:-1]) + " and " * (len(differs) > 1) + differs[-1]
        message = f"The visits under this client differ in the client's {said}."
    elif not surely_one(visits):
        message = "These visits agree in nothing but the client's name, which others may share."
    else:
        return []
    return [issue("D160", message, Where(path="client"), cause="D160")]


def _maybe_two() -> Issue:
    message = "Another client of these records has the same name and may have the same birth date, or the same number."
    return issue("D167", message, Where(path="client"), cause="D167")


def _seen_twice(people: list[tuple[str, Client]]) -> set[str]:
    """Ids of clients that another one may be: the same name, with a birth date that does not speak against it, the
    same NHS number, or the same number from elsewhere. `people`: each id with all that is said of its client."""
    met: dict[tuple[str, ...], set[str]] = defaultdict(set)
    named: dict[str, set[tuple[str, str]]] = defaultdict(set)
    for id, client in people:
        named[name_words(client.legal_name)].add((id, client.birth_date or ""))
        if client.nhs_number:
            met["nhs", client.nhs_number].add(id)
        for other in client.identifiers:
            met["other", other.assigner.casefold(), other.value].add(id)
    alike = {
        id
        for namesakes in named.values()
        for id, born in namesakes
        if any(id != other and (born.startswith(date) or date.startswith(born)) for other, date in namesakes)
    }
    return alike | {id for ids in met.values() if len(ids) > 1 for id in ids}


def _placed(found: Issue, summary: Summary) -> Issue:
    """At the record of the newest visit, unless the issue has a place of its own."""
    if found.where.record or found.where.file:
        return found
    where = summary.where
    return found.at(
        file=where.file, sheet=where.sheet, row=where.row, record=summary.visits[-1].number, unseen=where.unseen
    )
