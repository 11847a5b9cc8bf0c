"""What a client keeps, told in one visit and denied in a later one; `mappings/clinical/lasting.csv`."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

from bridge.check.across.identity import Who
from bridge.check.clinical.moments_between import span
from bridge.data import load_csv, table_path
from bridge.ear_words import EARS, Ear
from bridge.fhir.systems import OWN
from bridge.issues import Issue, Where, issue
from bridge.visit import EarRecord, Term, Visit

_STATED = (None, "present", "past")
_MOST = 6
"""Perforations and their ends that are remembered of one ear."""


@dataclass(frozen=True, slots=True)
class Fact:
    """A row of the table."""

    name: str
    rule: str
    label: str
    tells: frozenset[str]
    denied: frozenset[str]
    none: frozenset[str]


@dataclass(frozen=True, slots=True)
class _Said:
    """A statement of a visit: the day from which it holds (told) or on which it was made (denied)."""

    day: int
    at: int
    visit: int


@cache
def facts() -> dict[str, tuple[Fact, ...]]:
    """What lasts of an ear and of a client."""
    found: dict[str, list[Fact]] = {"ear": [], "client": []}
    for row in load_csv(table_path("clinical", "lasting.csv")):
        tells, denied, none = (frozenset(filter(None, row[key].split("|"))) for key in ("tells", "denied", "none"))
        found[row["of"]].append(Fact(row["fact"], row["rule"], row["label"], tells, denied, none))
    return {of: tuple(rows) for of, rows in found.items()}


@cache
def _by_concept(of: str) -> dict[str, tuple[Fact, ...]]:
    """The facts that a concept has to do with."""
    found: dict[str, list[Fact]] = {}
    for fact in facts()[of]:
        for concept in fact.tells | fact.denied | fact.none:
            found.setdefault(concept, []).append(fact)
    return {concept: tuple(rows) for concept, rows in found.items()}


def _touched(of: str, among: list[_Term]) -> list[Fact]:
    """The facts that any of the terms has to do with, in the order of the table."""
    known = _by_concept(of)
    names = {f.name for term, *_ in among for c in term.codings if c.code in known for f in known[c.code]}
    return [fact for fact in facts()[of] if fact.name in names] if names else []


class Lasting:
    """Remembers of each fact the earliest visit that tells it and the latest that denies it."""

    def __init__(self) -> None:
        self._told: dict[int, _Said] = {}
        self._denied: dict[int, _Said] = {}
        self._found: dict[int, tuple[_Said, ...]] = {}
        self._ended: dict[int, tuple[tuple[int, _Said], ...]] = {}

    def enter(self, visit: Visit, same: Who, at: int) -> Iterator[Issue]:
        """C582, C583, C585, C586, and C584 for a perforation that ended too early."""
        first, last = (day.toordinal() for day in span(visit.start))
        for ear in EARS:
            if record := visit.ear(ear):
                yield from self._ear(visit, ear, record, _At(same, at, first, last))
        yield from self._cautions(visit, _At(same, at, first, last))
        yield from self._allergies(visit, _At(same, at, first, last))

    def _ear(self, visit: Visit, ear: Ear, record: EarRecord, now: _At) -> Iterator[Issue]:
        history = [(e.term, f"{ear}.history[{n}]", e.date) for n, e in enumerate(record.history)]
        others = list(_findings(record, ear))
        cautions = [(c.term, f"cautions[{n}]", c.since) for n, c in enumerate(visit.cautions) if c.ear == ear]
        for fact in _touched("ear", [*history, *others, *cautions]):
            told = _first(fact.tells, _STATED, [*history, *others, *cautions])
            denied = _first(fact.denied, ("absent",), history) or _first(fact.none, _STATED, history)
            if fact.name == "perforation":
                yield from self._ends(ear, record, fact, others, now)
            yield from self._clash(fact, f"{ear} ear", told, denied, now)

    def _cautions(self, visit: Visit, now: _At) -> Iterator[Issue]:
        listed: list[_Term] = [(c.term, f"cautions[{n}]", None) for n, c in enumerate(visit.cautions)]
        for fact in _touched("client", listed):
            told = _first(fact.tells, _STATED, listed)
            denied = _first(fact.denied, ("absent",), listed) or _first(fact.none, _STATED, listed)
            yield from self._clash(fact, "client", told, denied, now)

    def _allergies(self, visit: Visit, now: _At) -> Iterator[Issue]:
        known = visit.allergies
        if known is None:
            return
        told = ("allergies", None) if any(a.term.assertion in _STATED for a in known.items) else None
        denied = ("allergies", None) if known.answer == "none known" else None
        yield from self._clash(_ALLERGY, "client", told, denied, now)

    def _clash(
        self, fact: Fact, of: str, told: tuple[str, str | None] | None, denied: tuple[str, str | None] | None, now: _At
    ) -> Iterator[Issue]:
        """The issue where one visit denies what another tells; both in one visit are told by the rules of a visit."""
        if (told is None) == (denied is None):
            return
        key = now.same.key(of, fact.name)
        cause = f"{fact.rule}:{fact.name}:{key:x}"
        if told:
            path, date = told
            said = _Said(min(now.last, span(date)[1].toordinal()) if date else now.last, now.at, now.same.visit)
            other = self._denied.get(key)
            before = self._told.get(key)
            if before is None or said.day < before.day:
                self._told[key] = said
            if other and other.visit != said.visit and said.day <= other.day:
                message = f"This visit records {fact.label} of the {of}, which {now.same.told(other.at)} denies."
                yield issue(fact.rule, message, Where(path=path), cause=cause)
        elif denied:
            said = _Said(now.first, now.at, now.same.visit)
            other, before = self._told.get(key), self._denied.get(key)
            if before is None or said.day > before.day:
                self._denied[key] = said
            if other and other.visit != said.visit and other.day <= said.day:
                message = f"This visit denies {fact.label} of the {of}, which {now.same.told(other.at)} records."
                yield issue(fact.rule, message, Where(path=denied[0]), cause=cause)

    def _ends(self, ear: Ear, record: EarRecord, fact: Fact, found: list[_Term], now: _At) -> Iterator[Issue]:
        """C584 for an end that lies before a visit that found a perforation, where the record of the end is later."""
        key = now.same.key(ear, "perforation found")
        cause = f"C584:{key:x}"
        seen = _first(fact.tells, _STATED, [one for one in found if ".findings" in one[1]])
        ends = [
            (span(event.ended)[1].toordinal(), f"{ear}.history[{n}].ended")
            for n, event in enumerate(record.history)
            if event.ended and _means(event.term, fact.tells, _STATED)
        ]
        for end, path in ends:
            for said in self._found.get(key, ()):
                if end < said.day <= now.first and said.visit != now.same.visit:
                    message = f"The perforation of the {ear} ear has an end before {now.same.told(said.at)} found one."
                    yield issue("C584", message, Where(path=path), cause=cause)
                    break
            if len(kept := self._ended.get(key, ())) < _MOST:
                self._ended[key] = (*kept, (end, _Said(now.first, now.at, now.same.visit)))
        if seen:
            for end, said in self._ended.get(key, ()):
                if end < now.last <= said.day and said.visit != now.same.visit:
                    message = f"A perforation of the {ear} ear was found after {now.same.told(said.at)} ends it."
                    yield issue("C584", message, Where(path=seen[0]), cause=cause)
                    break
            if len(those := self._found.get(key, ())) < _MOST:
                self._found[key] = (*those, _Said(now.last, now.at, now.same.visit))


@dataclass(frozen=True, slots=True)
class _At:
    """The visit that is entered: whose, where it stands, and the first and last day that its start can mean."""

    same: Who
    at: int
    first: int
    last: int


_ALLERGY = Fact("allergy", "C586", "an allergy", frozenset(), frozenset(), frozenset())
_Term = tuple[Term, str, str | None]
"""A term, its path, and since when it holds, where that is recorded."""


def _findings(record: EarRecord, ear: Ear) -> Iterator[_Term]:
    """Findings of the drum, events, and impressions."""
    for stage in ("before", "after"):
        drum: Any = getattr(getattr(record, stage), "drum", None)
        for n, finding in enumerate(drum.findings if drum else ()):
            yield finding.term, f"{ear}.{stage}.drum.findings[{n}]", None
    for w, work in enumerate(record.work):
        for n, event in enumerate(work.events):
            yield event.term, f"{ear}.work[{w}].events[{n}]", None
    for n, impression in enumerate(record.impressions):
        yield impression.term, f"{ear}.impressions[{n}]", impression.onset


def _first(concepts: frozenset[str], said: tuple[str | None, ...], among: list[_Term]) -> tuple[str, str | None] | None:
    """Path and date of the first term of these meanings that is said so."""
    if not concepts:
        return None
    return next(((path, date) for term, path, date in among if _means(term, concepts, said)), None)


def _means(term: Term, concepts: frozenset[str], said: tuple[str | None, ...]) -> bool:
    return term.assertion in said and any(c.code in concepts for c in term.codings if c.system == OWN)
