"""The corridor of two editions: every record is read once and coded by both. Nothing is built and nothing is sent."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path

from bridge.audit.changes import Changed, Known, Tally
from bridge.audit.changes.judge import LESS, Reading, reading
from bridge.audit.changes.tally import Use
from bridge.coding import Kind, TermMaps, code_visit, fold
from bridge.coding.edition import Edition
from bridge.errors import InputError
from bridge.fhir.systems import OWN
from bridge.issues import Issue, Where
from bridge.layout import Layout
from bridge.pipeline import Converter
from bridge.practice import complete
from bridge.read.find import unread
from bridge.telling_words import may_tell_who, names_in
from bridge.visit import Term, Visit, terms_of


def changed(
    converter: Converter, old: Edition, new: Edition, sources: Sequence[Path], layout: Layout | None = None
) -> Changed:
    """What both editions make of the records of the sources. One of several that cannot be read is among the issues."""
    tally, told = Tally(_known(new)), list[Issue]()
    for source in sources:
        try:
            for record in converter.readings(source, layout):
                if record.visit is None:
                    tally.unread += not record.left_alone
                elif not record.left_alone:
                    visit, _ = complete(record.visit, converter.practice)
                    tally.add(visit.number, _uses(visit, record.where_of, old.maps, new.maps))
        except InputError as error:
            if len(sources) == 1:
                raise
            told.append(unread(source, error))
    done = tally.done(old.name, new.name)
    done.issues[:0] = [*told, *converter.told_of_sources()]
    return done


def _uses(visit: Visit, where_of: Callable[[str], Where], old: TermMaps, new: TermMaps) -> Iterator[Use]:
    before, now = (dict(terms_of(code_visit(visit, maps)[0])) for maps in (old, new))

    @cache
    def names() -> set[str]:
        return names_in(visit)

    def of(path: str, kind: Kind, term: Term, was: Term) -> Use:
        return Use(
            kind.name,
            kind.label,
            term.text,
            _reading(path, was, old),
            _reading(path, term, new),
            lambda: replace(where_of(path), record=visit.number),
            lambda: may_tell_who(term.text, names(), lambda part: _of_the_trade(part, new)),
        )

    for path, term in now.items():
        kind = new.kind_of(path) or old.kind_of(path)
        if kind is not None and path in before:
            yield of(path, kind, term, before[path])


def _reading(path: str, term: Term, maps: TermMaps) -> Reading:
    own = next((coding.code for coding in term.codings if coding.system == OWN), "")
    kind = maps.kind_of(path)
    concept = maps.concepts.get(own) if own else maps.find(kind.name, term.text) if kind else None
    if concept is None or (not own and concept.published):
        return reading(term, "", "", less=False)
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
