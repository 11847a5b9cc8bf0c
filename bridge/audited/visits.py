"""Visits of the practice's own records as entries: read, coded, checked, looked at by the rules of patterns."""

from __future__ import annotations

import secrets
from collections.abc import Iterator, Sequence
from hashlib import blake2b
from pathlib import Path

from bridge.audit.patterns import of_rule
from bridge.audit.shapes import Entry
from bridge.audit.visit_rules import eyes_in_notes, sides_in_words
from bridge.audited.bounded import CopiedNotes, Once
from bridge.audited.counted import Counted
from bridge.audited.ears import Ears, of_one_ear
from bridge.audited.known import WordsKnown
from bridge.check.clinical.engine import judge
from bridge.check.clinical.rule import ClinicalRule
from bridge.check.clinical.rulebook import RuleBook
from bridge.check.clinical.told import issues_of
from bridge.issues import Issue, Where, issue
from bridge.layout import Layout
from bridge.pipeline import Converter
from bridge.practice.complete_people import complete_people
from bridge.read.visits import read_visits
from bridge.same_clinic import of_another
from bridge.shapes import Reading
from bridge.visit import Clinic, Visit

_MOST_PEOPLE = 1_000


def theirs(key: str, clinic: Clinic | None) -> str:
    """The key of somebody at another clinic, which may be that of one of our own people too."""
    return f"{key} ({clinic.name})" if key and clinic else key


def wanted(book: RuleBook) -> list[ClinicalRule]:
    """The rules that a pattern names."""
    return [rule for rule in book if rule.code in of_rule()]


class Look:
    """Rules over one coded visit; only what they find, never what they ask."""

    def __init__(self, book: RuleBook, rules: Sequence[ClinicalRule]) -> None:
        codes = {rule.code for rule in rules}
        self._rules = RuleBook(rules, (change for change in book.changes if change.code in codes))

    def at(self, visit: Visit) -> list[Issue]:
        return list(issues_of(judge(visit, self._rules.on(visit.start), asks=False)))


class Visits:
    """Records and long notes are known over all sources of one run."""

    def __init__(self, converter: Converter, words: WordsKnown, counted: Counted) -> None:
        self._converter = converter
        self._counted = counted
        book = converter.rules
        changed = {change.code for change in book.changes}
        alone = {rule.code for rule in wanted(book) if of_one_ear(rule) and rule.code not in changed}
        self._ears = Ears(converter.maps, words, (rule for rule in book if rule.code in alone))
        self._look = Look(book, [rule for rule in wanted(book) if rule.code not in alone])
        self._copied = CopiedNotes()
        self._ledger = Once()
        self._key = secrets.token_bytes(32)
        self._people: dict[str, str] = {}
        self._unread = 0
        self._first = Where()

    def told(self) -> Iterator[Issue]:
        """A196 where records were no visit."""
        if self._unread:
            records = "1 record" if self._unread == 1 else f"{self._unread} records"
            told = f"{records} could not be read as visits, so nothing of what they hold is counted."
            told = told if self._unread > 1 else told.replace("visits", "a visit").replace("they hold", "it holds")
            yield issue("A196", told, self._first, cause="A196")

    def of(self, source: Path, layout: Layout | None) -> Iterator[Entry]:
        """An entry for each record that counts, also for one that is no visit; rows left alone are none. Raises
        InputError."""
        converter = self._converter
        chosen = converter._knowing(layout or converter.layout(source))
        for reading in read_visits(source, chosen, converter.zone, self._ledger):
            if not reading.left_alone and (reading.visit is None or self._counted.record(reading.visit)):
                yield self._entry(reading)

    def _entry(self, reading: Reading) -> Entry:
        if reading.visit is None:
            self._first = self._first if self._unread else reading.where
            self._unread += 1
            return Entry(reading.where.record, issues=tuple(reading.issues), where=reading.where)
        visit, found, items = self._ears.coded(reading.visit)
        found += self._look.at(visit)
        found += self._copied.enter(visit, reading.where)
        found += sides_in_words(visit)
        found += eyes_in_notes(visit)
        return Entry(
            visit.number,
            visit.start[:7],
            self._practitioner(visit),
            self._client(visit),
            items,
            (*reading.issues, *found),
            visit,
            reading.where,
            "visit",
            reading.where_of,
        )

    def _practitioner(self, visit: Visit) -> str:
        """The key of who is named first, by the settings of the practice where they know the name that is written."""
        written = visit.practitioners[0].key if visit.practitioners else ""
        if written and of_another(visit.clinic, self._converter.practice.clinic):
            return theirs(written, visit.clinic)
        if written and written not in self._people:
            people = complete_people(visit, self._converter.practice)[0].get("practitioners") or visit.practitioners
            if len(self._people) >= _MOST_PEOPLE:
                self._people.clear()
            self._people[written] = people[0].key
        return self._people.get(written, "")

    def _client(self, visit: Visit) -> bytes:
        client = visit.client
        said = client.nhs_number or client.number or repr(client.legal_name)
        return blake2b(said.encode("utf-8", "replace"), key=self._key, digest_size=16).digest()
