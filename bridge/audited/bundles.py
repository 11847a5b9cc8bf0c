"""Bundles as entries: ours with the visit that can be read back, those of other makers by their resources alone."""

from __future__ import annotations

import re
import secrets
from collections import defaultdict
from collections.abc import Iterator
from hashlib import blake2b
from pathlib import Path
from typing import Any

from bridge.about_document import about
from bridge.audit.bundle_items import bundle_items, dicts, str_of
from bridge.audit.bundle_rules import LongNotes, Sided, both_ears_twice, outside_of_visit, sided
from bridge.audit.shapes import Entry
from bridge.audited.bounded import CopiedNotes
from bridge.audited.counted import Counted
from bridge.audited.documents import holds_later, read_documents
from bridge.audited.known import WordsKnown
from bridge.audited.visits import Look, theirs, wanted
from bridge.check.trade import check_trade
from bridge.issues import Issue, Where, issue
from bridge.one_client import name_words
from bridge.pipeline import Converter
from bridge.receive import bundle_to_visits
from bridge.receive.apart import Addresses, visits_apart
from bridge.receive.people import organisation_code
from bridge.same_clinic import NOT_NAMED, of_another
from bridge.shapes import Json
from bridge.telling_words import plain
from bridge.visit import Clinic, Visit
from bridge.visit.people import Name

MOST_RESOURCES = 50_000
"""Resources of one bundle that are looked at; more are told (A192)."""
_NUMBER = 40
_PEOPLE = ("Patient", "RelatedPerson", "Practitioner")
_WORD = re.compile(r"[^\W\d_]{2,}")
_OF_VISIT = ("encounter", "context")


class Bundles:
    """Long notes and clients are known over all bundles of one run."""

    def __init__(self, converter: Converter, words: WordsKnown, counted: Counted) -> None:
        self._converter = converter
        self._words = words
        self._counted = counted
        self._look = Look(converter.rules, wanted(converter.rules))
        self._copied = CopiedNotes()
        self._notes = LongNotes()
        self._key = secrets.token_bytes(32)
        self._met = 0

    def of(self, source: Path, said: list[Issue]) -> Iterator[tuple[Entry, list[Sided]]]:
        """An entry for each bundle, and for each visit of a bundle with several, with what names ears in it; none for
        what was counted already."""
        for row, data in read_documents(source, said):
            where = Where(file=source.name, row=row)
            for part in _apart(data):
                if len(dicts(part, "entry")) > MOST_RESOURCES:
                    told = f"Only the first {MOST_RESOURCES} resources of this bundle were looked at."
                    said.append(issue("A192", told, where, cause="A192"))
                visit = _visit(part)
                if self._counted.document(visit) if visit else self._counted.summary(*_summed_up(part)):
                    yield self._entry(part, visit, where)

    def _entry(self, data: Json, visit: Visit | None, where: Where) -> tuple[Entry, list[Sided]]:
        self._met += 1
        resources = resources_of(data)
        found = check_trade(data)
        number = _number(resources) or f"document {self._met}"
        ears = sided(resources)
        found += [*both_ears_twice(ears), *outside_of_visit(resources)]
        if visit is not None:
            number = visit.number
            found += [*self._look.at(visit), *self._copied.enter(visit, where)]
        else:
            found += self._notes.enter(number, resources)
        who = visit.practitioners[0].key if visit and visit.practitioners else _practitioner(resources)
        if visit and of_another(visit.clinic, self._converter.practice.clinic):
            who = theirs(who, visit.clinic)
        entry = Entry(
            number,
            visit.start[:7] if visit else _month(resources),
            who,
            self._client(resources),
            bundle_items(resources, self._words.sent),
            tuple(one.at(file=where.file, row=where.row) for one in found),
            visit,
            where,
            "ours" if visit else "bundle",
            names=frozenset() if visit else _names(resources),
        )
        return entry, ears

    def _client(self, resources: list[tuple[str, Json]]) -> bytes:
        patient = next((r for _, r in resources if r.get("resourceType") == "Patient"), {})
        said = next(
            (str_of(i, "value") for i in dicts(patient, "identifier") if str_of(i, "value")), repr(patient.get("id"))
        )
        return blake2b(said.encode("utf-8", "replace"), key=self._key, digest_size=16).digest()


def later_visits(source: Path) -> Iterator[Visit]:
    """The visits of a file that may be about a later version than the first."""
    for _, data in read_documents(source, [], holds_later):
        yield from (visit for part in _apart(data) if (visit := _visit(part)))


def _visit(data: Json) -> Visit | None:
    """The one visit that can be read back from a bundle of ours; one that names no clinic is not taken for our own."""
    visits = bundle_to_visits(data)[0] if data.get("resourceType") == "Bundle" else []
    if len(visits) != 1:
        return None
    return visits[0] if visits[0].clinic else visits[0].model_copy(update={"clinic": NOT_NAMED})


def _summed_up(data: Json) -> tuple[list[tuple[Clinic | None, str, str]], set[str]]:
    """Clinic, number and start of the visits that a client's whole record of ours is made of, and every name of the
    client; else none."""
    if about(data).kind != "ips":
        return [], set()
    resources = resources_of(data)
    clinics = {}
    for entry in dicts(data, "entry"):
        if str_of(resource := entry.get("resource"), "resourceType") == "Organization":
            clinics[str_of(entry, "fullUrl")] = _clinic(resource)
    found = []
    for _, resource in resources:
        if resource.get("resourceType") == "Encounter":
            clinic = clinics.get(str_of(resource.get("serviceProvider"), "reference"))
            found.append((clinic, _number([("", resource)]), str_of(resource.get("period"), "start")))
    patients = (resource for _, resource in resources if resource.get("resourceType") == "Patient")
    return found, {_words(name) for patient in patients for name in dicts(patient, "name")}


def _clinic(organization: Any) -> Clinic | None:
    try:
        return Clinic(name=organization["name"], organisation_code=organisation_code(organization))
    except (AttributeError, KeyError, TypeError, ValueError):
        return None


def _words(name: Json) -> str:
    given = tuple(part for part in _list(name.get("given")) if isinstance(part, str))
    return name_words(Name.model_construct(given=given, family=str_of(name, "family")))


def _names(resources: list[tuple[str, Json]]) -> frozenset[str]:
    """Every part of a name of a person in the resources, as `plain`."""
    names = (name for _, r in resources if r.get("resourceType") in _PEOPLE for name in dicts(r, "name"))
    return frozenset(plain(part) for name in names for text in _texts(name) for part in _WORD.findall(text))


def _texts(name: Json) -> Iterator[str]:
    parts = [name.get("text"), name.get("family"), *_list(name.get("given"))]
    yield from (part[:200] for part in parts if isinstance(part, str))


def _list(value: Any) -> list[Any]:
    return value if isinstance(value, list) else []


def resources_of(data: Json) -> list[tuple[str, Json]]:
    """The resources of a bundle with their paths, or the one resource; never raises, whatever is in it."""
    if data.get("resourceType") != "Bundle":
        return [(str(data.get("resourceType") or "resource")[:60], data)]
    found = []
    for nth, entry in enumerate(_list(data.get("entry"))[:MOST_RESOURCES]):
        resource = entry.get("resource") if isinstance(entry, dict) else None
        if isinstance(resource, dict):
            found.append((f"Bundle.entry[{nth}].resource", resource))
    return found


def _apart(data: Json) -> Iterator[Json]:
    """The bundle itself; bundles inside of it one by one; and of one with several visits a part for each."""
    resources = [r for _, r in resources_of(data)]
    inner = [r for r in resources if r.get("resourceType") == "Bundle"]
    if inner and data.get("resourceType") == "Bundle":
        for one in inner:
            yield from _apart(one) if not any(r.get("resourceType") == "Bundle" for _, r in resources_of(one)) else ()
        return
    visits = [r for r in resources if r.get("resourceType") == "Encounter"]
    if len(visits) < 2 or data.get("type") == "document":
        yield data
        return
    if len(bundle_to_visits(data)[0]) == len(visits):
        entries = {id(entry["resource"]): entry for entry in data["entry"]}
        for part in visits_apart(data, Addresses(data)):
            yield {**data, "entry": [entries[id(resource)] for resource in part]}
        return
    parts: dict[str, list[Json]] = defaultdict(list)
    names = {str_of(r, "id") for r in visits}
    for entry in dicts(data, "entry")[:MOST_RESOURCES]:
        resource = entry.get("resource")
        if isinstance(resource, dict):
            parts[_visit_of(resource, names)].append(entry)
    for part in parts.values():
        yield {**data, "entry": part}


def _visit_of(resource: Json, names: set[str]) -> str:
    if resource.get("resourceType") == "Encounter":
        return str_of(resource, "id")
    for element in _OF_VISIT:
        name = str_of(resource.get(element), "reference").rpartition("/")[2]
        if name in names:
            return name
    return ""


def _number(resources: list[tuple[str, Json]]) -> str:
    """The practice's own number of the visit."""
    visits = (r for _, r in resources if r.get("resourceType") == "Encounter")
    return next(
        (str_of(i, "value")[:_NUMBER] for v in visits for i in dicts(v, "identifier") if str_of(i, "value")), ""
    )


def _month(resources: list[tuple[str, Json]]) -> str:
    for _, resource in resources:
        if resource.get("resourceType") == "Encounter" and (start := str_of(resource.get("period"), "start")):
            return start[:7]
    dates = (str_of(r, key) for _, r in resources for key in ("date", "effectiveDateTime", "performedDateTime"))
    return next((date[:7] for date in dates if len(date) >= 7), "")


def _practitioner(resources: list[tuple[str, Json]]) -> str:
    people = [r for _, r in resources if r.get("resourceType") == "Practitioner"]
    values: list[Any] = [str_of(i, "value") for p in people for i in dicts(p, "identifier")]
    return next((value[:_NUMBER] for value in values if value), "")
