"""The corridor of two editions: every record is read once and coded by both. Nothing is built and nothing is sent."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import cached_property
from pathlib import Path

from bridge.audit.changes import Changed, Known, Tally
from bridge.audit.changes.judge import LESS, Reading, reading
from bridge.audit.changes.tally import Use
from bridge.audited.bundles import Bundles
from bridge.audited.counted import Counted, in_order
from bridge.audited.known import WordsKnown
from bridge.audited.newest import counted_over
from bridge.coding import Kind, TermMaps, code_visit, fold, regional
from bridge.coding.edition import Edition
from bridge.errors import InputError
from bridge.fhir.systems import OWN
from bridge.issues import Issue, Where
from bridge.layout import Layout
from bridge.pipeline import Converter
from bridge.practice import complete
from bridge.read.find import unread
from bridge.telling_words import may_tell_who, telling_in
from bridge.visit import Term, Visit, map_terms, terms_of

SENT = "sent"
"""The name by which the codes are meant that documents were sent with."""


def changed(
    converter: Converter, old: Edition | None, new: Edition, sources: Sequence[Path], layout: Layout | None = None
) -> Changed:
    """What both editions make of the records of the sources. One of several that cannot be read is among the issues.

    `old` None: what documents of ours were sent with stands for the old edition. Raises InputError for a single source
    that cannot be read, and for records that are to be held against what was sent.
    """
    tally, told = Tally(_known(new)), list[Issue]()
    ordered = in_order(sources)
    counted = counted_over(ordered, converter, layout)
    reader = _Reader(converter, layout, counted, told)
    for source, document in ordered:
        try:
            for visit, where_of in reader.documents(source) if document else reader.records(source):
                if visit is None:
                    tally.unread += 1
                    continue
                if old is None and not document:
                    raise InputError(
                        f"{source.name} holds records, and “{SENT}” is about documents that were made of them.",
                        f"Name the documents, or an edition in place of “{SENT}”.",
                    )
                codes = _Codes(converter, old, new, visit, document=document)
                tally.add(visit.number, codes.uses(where_of))
        except InputError as error:
            if len(sources) == 1:
                raise
            told.append(unread(source, error))
    done = tally.done(old.name if old else SENT, new.name)
    done.issues[:0] = [*told, *converter.told_of_sources(), *counted.told()]
    return done


Placed = tuple[Visit | None, Callable[[str], Where]]


class _Reader:
    """Visits that count, with where their fields stand; None for what could not be read as one."""

    def __init__(self, converter: Converter, layout: Layout | None, counted: Counted, told: list[Issue]) -> None:
        self.converter, self.layout, self.counted, self.told = converter, layout, counted, told
        self.bundles = Bundles(converter, WordsKnown(converter.maps), counted)

    def documents(self, source: Path) -> Iterator[Placed]:
        for entry, _ in self.bundles.of(source, self.told):
            yield entry.visit, entry.at

    def records(self, source: Path) -> Iterator[Placed]:
        for record in self.converter.readings(source, self.layout):
            if record.left_alone:
                continue
            if record.visit is None:
                yield None, record.where_of
            elif self.counted.record(record.visit):
                yield complete(record.visit, self.converter.practice)[0], record.where_of


class _Codes:
    """One visit as both editions code it; `document`: its terms have the codes that they were sent with."""

    def __init__(
        self, converter: Converter, old: Edition | None, new: Edition, visit: Visit, *, document: bool
    ) -> None:
        self.visit, self.new, self.old = visit, new.maps, old.maps if old else new.maps
        bare = map_terms(visit, self._bare) if document else visit
        region = converter.region
        self.now = dict(terms_of(regional(code_visit(bare, new.maps)[0], region)[0]))
        self.before = dict(terms_of(regional(code_visit(bare, old.maps)[0], region)[0] if old else visit))

    def _bare(self, path: str, term: Term) -> Term:
        return term.model_copy(update={"codings": ()}) if term.codings and self._kind(path) else term

    def _kind(self, path: str) -> Kind | None:
        return self.new.kind_of(path) or self.old.kind_of(path)

    def uses(self, where_of: Callable[[str], Where]) -> Iterator[Use]:
        for path, term in self.now.items():
            if (kind := self._kind(path)) and path in self.before:
                yield self._use(path, kind, term, where_of)

    def _use(self, path: str, kind: Kind, term: Term, where_of: Callable[[str], Where]) -> Use:
        return Use(
            kind.name,
            kind.label,
            term.text,
            _reading(path, self.before[path], self.old),
            _reading(path, term, self.new),
            lambda: replace(where_of(path), record=self.visit.number),
            lambda: may_tell_who(term.text, self._names, lambda part: _of_the_trade(part, self.new)),
        )

    @cached_property
    def _names(self) -> set[str]:
        return telling_in(self.visit)


def _reading(path: str, term: Term, maps: TermMaps) -> Reading:
    own = next((coding for coding in term.codings if coding.system == OWN), None)
    kind = maps.kind_of(path)
    concept = maps.concepts.get(own.code) if own else maps.find(kind.name, term.text) if kind else None
    if concept is None or (not own and concept.published):
        return reading(term, "", (own.display or "") if own else "", less=False)
    return reading(term, concept.code, concept.label, less=concept.note.startswith(LESS))


def _of_the_trade(part: str, maps: TermMaps) -> bool:
    return any(fold(part) in words for words in maps.words.values())


def _known(new: Edition) -> Known:
    broad: dict[tuple[str, str], set[str]] = {}
    for concept in new.maps.concepts.values():
        if not concept.note.startswith(LESS):
            for coding in new.maps.codings(concept):
                if coding.system != OWN:
                    broad.setdefault((coding.system, coding.code), set()).add(concept.code)
    return Known(new.not_for_writing, new.withdrawn, {code: frozenset(found) for code, found in broad.items()})
