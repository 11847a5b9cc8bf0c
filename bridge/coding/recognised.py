"""Meanings for the terms of a visit that arrived: by the codes that others gave them, or by their exact words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from bridge.coding.apply import code_visit
from bridge.coding.concepts import Concept, Kind
from bridge.coding.term_map import TermMaps
from bridge.fhir.own import unplaced, verified
from bridge.fhir.systems import OWN
from bridge.phrases import qualifier
from bridge.visit import Term, Visit, map_terms

_LESS = "the code says less than the words"
"""How the note of a concept begins whose codes other concepts have too: the code alone does not mean it."""


def recognised(visit: Visit, maps: TermMaps) -> Visit:
    """The visit with our own code beside terms that have none, where codes or words surely mean it.

    Words may say more than the code beside them (an attic perforation, coded as a perforation), never something else:
    where they disagree, or where the words deny or doubt what the term states, the term is left as it came.
    """
    by_code = _by_code(maps)

    def change(path: str, term: Term) -> Term:
        kind = maps.kind_of(path)
        if kind is None or not term.codings or any(coding.system == OWN for coding in term.codings):
            return term
        concept = _concept(term, kind, maps, by_code)
        return term.model_copy(update={"codings": (*term.codings, *concept.own_coding)}) if concept else term

    return code_visit(map_terms(visit, change), maps)[0]


def _concept(
    term: Term, kind: Kind, maps: TermMaps, by_code: Mapping[tuple[str, str, str], list[Concept]]
) -> Concept | None:
    if qualifier(term.text, kind.name) not in (None, term.assertion):
        return None
    worded = maps.find(kind.name, term.text)
    coded: list[Concept] = []
    for name in (kind.name, *(f"in {also}" for also in kind.also)):
        coded = [c for coding in term.codings for c in by_code.get((name, coding.system, coding.code), ())]
        if coded:
            break
    if not coded:
        return worded
    if worded in coded:
        return worded
    if worded is not None:
        return None
    return next((c for c in coded if not c.note.startswith(_LESS)), None)  # the more usual meaning has the first row


def _by_code(maps: TermMaps) -> dict[tuple[str, str, str], list[Concept]]:
    """The concepts of each kind by system and code, finer codes of the licensed set among them; under `in KIND` only
    those whose code says by itself what is meant, for the fields of other kinds."""
    found: dict[tuple[str, str, str], list[Concept]] = {}
    known = verified()
    for concept in maps.concepts.values():
        for name in dict.fromkeys(_names(concept, maps)):
            coding = known[name]["system"], known[name]["code"]
            found.setdefault((concept.kind, *coding), []).append(concept)
            if name not in unplaced():
                found.setdefault((f"in {concept.kind}", *coding), []).append(concept)
    return found


def _names(concept: Concept, maps: TermMaps) -> Iterator[str]:
    yield from concept.codes
    if finer := (maps.finer or {}).get(concept.code):
        yield from (*finer.codes, *finer.right, *finer.left, *finer.both)
