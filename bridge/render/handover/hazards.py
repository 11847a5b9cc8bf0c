"""Standing hazards over all visits: what stands, what was denied, and what nobody recorded, apart from each other."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from typing import NamedTuple

from bridge.data import load_csv, table_path
from bridge.fhir.systems import OWN
from bridge.fhir.tell.words import day
from bridge.render.handover.terms import ear_of, said_of
from bridge.render.handover.told import VisitTold
from bridge.render.page import Grid, Section, Text
from bridge.visit import Visit, terms_of
from bridge.visit.base import Term
from bridge.wording import say

OTHER, REACTIONS, NEEDS, MEDICINES = "other", "reactions", "needs", "medicines"
OF_ONE_EAR = frozenset({"perforation", "tube", "surgery", "cavity", "only-hearing-ear"})
_ALLERGY, _CAUTION = re.compile(r"allergies\.items\[(\d+)\]"), re.compile(r"cautions\[(\d+)\]")


class _Line(NamedTuple):
    hazard: str
    ear: str
    words: str
    said: str


@cache
def hazard_concepts() -> dict[str, frozenset[str]]:
    """Concepts by heading, in the order of the page."""
    rows = load_csv(table_path("documents", "handover-hazards.csv"))
    return {row["key"]: frozenset(filter(None, row["concepts"].split("|"))) for row in rows}


def hazards(visits: list[VisitTold]) -> Section:
    """A row for each thing of each ear, with the first and the last day on which it was said; a heading that nothing
    stands under says so."""
    found: dict[_Line, list[str]] = {}
    for told in visits:
        for line in _lines(told.visit):
            found.setdefault(line, []).append(told.visit.start)
    rows = []
    for key in hazard_concepts():
        title = say(f"handover.hazard.{key}")
        mine = [(line, days) for line, days in found.items() if line.hazard == key]
        rows += [[title, line.ear, line.words, line.said, _days(days)] for line, days in mine]
        if not mine:
            rows.append([title, say("handover.nothing"), say("ears.not-recorded"), say("handover.nothing"), ""])
    headings = [say(f"handover.hazards.{name}") for name in ("what", "ear", "words", "said", "when")]
    both = _both(list(found))
    notes = [Text(say("handover.hazards.note")), *([Text(both, "strong")] if both else [])]
    return Section("hazards", say("handover.hazards.title"), [*notes, Grid(headings, rows)], frame="box")


def _both(lines: list[_Line]) -> str:
    """Which things some visit names and another denies, so that nobody trusts one of them alone."""
    absent = say("handover.said.absent")
    named = {(line.hazard, line.ear): {x.said == absent for x in lines if x[:2] == line[:2]} for line in lines}
    clash = dict.fromkeys(
        say(f"handover.hazard.{key}") for (key, _), said in named.items() if len(said) > 1 and key != OTHER
    )
    return say("handover.hazards.both", what=", ".join(clash)) if clash else ""


def _days(days: list[str]) -> str:
    first, last = day(days[0]), day(days[-1])
    return first if first == last else say("handover.from-to", first=first, last=last)


def _lines(visit: Visit) -> Iterator[_Line]:
    for path, term in terms_of(visit):
        key = _key(path, term)
        if key:
            ear = ear_of(path, visit)
            if key in OF_ONE_EAR and ear == say("handover.nothing"):
                ear = say("handover.ear.not-named")
            words = "; ".join([said_of(term), *_more(path, visit)])
            yield _Line(key, ear, words, say(f"handover.said.{term.assertion or 'present'}"))
    for asked, answer in (("allergies", visit.allergies), ("medicines", visit.medicines)):
        if answer is not None and answer.answer:
            hazard = REACTIONS if asked == "allergies" else MEDICINES
            said = say(f"handover.{asked}.{answer.answer.replace(' ', '-')}")
            yield _Line(hazard, say("handover.nothing"), said, say("handover.nothing"))
    for need in visit.access_needs:
        yield _Line(NEEDS, say("handover.nothing"), need, say("handover.said.present"))
    if visit.client.language:
        yield _Line(NEEDS, say("handover.nothing"), f"{say('client.language')}: {visit.client.language}",
                    say("handover.said.present"))  # fmt: skip


def _more(path: str, visit: Visit) -> Iterator[str]:
    """What an allergy did, and what was noted of it or of a caution."""
    if (found := _ALLERGY.match(path)) and visit.allergies:
        allergy = visit.allergies.items[int(found[1])]
        yield from [say("handover.reaction", words=allergy.reaction)] if allergy.reaction else []
        yield from [allergy.note] if allergy.note else []
    elif found := _CAUTION.match(path):
        caution = visit.cautions[int(found[1])]
        yield from [say("handover.since", day=day(caution.since))] if caution.since else []
        yield from [caution.note] if caution.note else []


def _key(path: str, term: Term) -> str:
    """The heading of a term; empty for what is no hazard."""
    mine = {coding.code for coding in term.codings if coding.system == OWN}
    for key, concepts in hazard_concepts().items():
        if mine & concepts:
            return key
    if path.startswith("allergies."):
        return REACTIONS
    if path.startswith("medicines."):
        return MEDICINES
    inside = path.partition(".")[2]
    return OTHER if path.startswith("cautions") or inside.startswith("history") else ""
