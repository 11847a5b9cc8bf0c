"""Each ear side by side: seen before, done, seen after, and what could not be seen or was not examined.

Four answers keep four wordings. An ear or a stage without any fact says "Not recorded" and nothing else.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from bridge.ear_words import EARS, STAGES, Ear, Stage
from bridge.fhir.in_force import label as not_in_force
from bridge.fhir.own import kinds
from bridge.fhir.tell import is_told, said, subject
from bridge.fhir.tell.around import is_past_event
from bridge.fhir.tell.by_ear import Pair, Told, lines, stage
from bridge.fhir.tell.clinical import nothing_done, procedure_details, procedure_outcome
from bridge.fhir.tell.observation import kind_of, limits_sight
from bridge.fhir.tell.words import listed, sentence, upper_first, words
from bridge.render.entries import Entries
from bridge.render.page import Cell, Ears, Line, Lines, Row, Text
from bridge.shapes import Json
from bridge.wording import say

_MAIN_PARTS = ("wax", "canal", "drum")
_OF_THE_WORK = ("hearing-change",)


@dataclass(slots=True)
class EarTable:
    ears: Ears
    bare: bool
    """Whether it holds no fact of either ear."""
    told: set[int]
    """`id()` of each resource that the table tells, so that nothing is told twice or not at all."""


def ear_table(entries: Entries) -> EarTable:
    facts = entries.by_ear
    told: set[int] = set()
    notes = {side: [r for r in facts[side] if kind_of(r) == "ear-note"] for side in EARS}
    in_words = [side for side in EARS if notes[side] and not any(map(_for_the_table, facts[side]))]
    before, after = ([_stage(facts[side], side, stage, told) for side in EARS] for stage in STAGES)
    done = [_done(facts[side], entries, side, told) for side in EARS]
    limits = [_limits(facts[side], side, told) for side in EARS]
    rows = [Row(key, say(f"ears.{key}"), cells) for key, cells in
            (("before", before), ("done", done), ("after", after), ("limits", limits))]  # fmt: skip
    cells = [cell for row in rows for cell in row.cells]
    bare = not any(isinstance(block, Lines) for cell in cells for block in cell.blocks) and not told
    for cell in (c for c in cells if c.ear in in_words):
        cell.blocks = [Text(say("ears.in-words"), "quiet")]
    for cell in () if bare else (c for c in before if c.ear in in_words):
        own = lines(("", said(r)) for r in notes[cell.ear])
        cell.blocks = [Lines([Line("", note.words) for note in own], sentence(say("ears.own-words")))]
        told |= {id(r) for r in notes[cell.ear]}
    return EarTable(Ears((say("group.right"), say("group.left")), rows), bare, told)


def _for_the_table(fact: Json) -> bool:
    """Whether it tells of a look at the ear, of work on it, or of what came of it."""
    if fact["resourceType"] == "Procedure":
        return not is_past_event(fact)
    return fact["resourceType"] == "Observation" and (bool(stage(fact)) or kind_of(fact) in _OF_THE_WORK)


def _quiet(side: Ear, words: str) -> Cell:
    return Cell(side, [Text(words, "quiet")])


def _stage(facts: list[Json], side: Ear, when: Stage, told: set[int]) -> Cell:
    mine = [r for r in facts if stage(r) == when and of_examination(r)]
    if not mine:
        return _quiet(side, say("ears.not-recorded"))
    seen = [r for r in mine if not limits_sight(r)]
    told |= {id(r) for r in mine}
    if seen:
        return Cell(side, [Lines([*_together(map(_pair, seen)), *_not_recorded(mine)])])
    whole = [said(r) for r in mine if kind_of(r) == "examination-view"]
    return _quiet(side, sentence(whole[0]) if whole else say("ears.only-limits"))


def _not_recorded(mine: list[Json]) -> list[Line]:
    """The main parts that a stage with some facts says nothing of, so that silence is not taken for normal."""
    if any(kind_of(r) == "examination-view" and limits_sight(r) for r in mine):
        return []
    said_of = {kind_of(r).rpartition("-")[0] for r in mine}
    missing = [say(f"subject.{stem}") for stem in _MAIN_PARTS if stem not in said_of]
    return [Line(say("ears.not-recorded.of"), f"{listed(missing)}.")] if missing else []


def of_examination(observation: Json) -> bool:
    """Hearing tests have a stage too, and a section of their own."""
    return not kind_of(observation) or kinds()[kind_of(observation)]["category"] == "exam"


def _limits(facts: list[Json], side: Ear, told: set[int]) -> Cell:
    if not facts:
        return _quiet(side, say("ears.not-recorded"))
    limits = [r for r in facts if limits_sight(r)]
    told |= {id(r) for r in limits}
    loose, before, after = (
        _together((subject(r), said(r)) for r in limits if stage(r) == when) for when in ("", *STAGES)
    )
    throughout = [line for line in before if line in after]
    named = [_at(line, "both" if line in throughout else "before") for line in before]
    found = [*loose, *named, *(_at(line, "after") for line in after if line not in throughout)]
    return Cell(side, [Lines(found)]) if found else _quiet(side, say("ears.no-limits"))


def _at(line: Line, when: str) -> Line:
    """A line that names its stage: `Eardrum, before the work`."""
    return Line(say(f"ears.limit.{when}", parts=line.subject), line.words)


def _together(pairs: Iterable[Pair]) -> list[Line]:
    """Lines, where subjects of which the same is said share one: `Ear canal and eardrum: looked normal.`"""
    shared: dict[tuple[str, ...], list[Told]] = {}
    for line in lines(pairs):
        shared.setdefault((line.subject and "about", *line.sayings), []).append(line)
    return [Line(upper_first(listed([told.inside for told in same])), same[0].words) for same in shared.values()]


def _done(facts: list[Json], entries: Entries, side: Ear, told: set[int]) -> Cell:
    work = [r for r in facts if r["resourceType"] == "Procedure" and not is_past_event(r)]
    blocks: list[Text | Lines] = []
    for procedure in work:
        beside = [r for r in facts if any(p is procedure for p in entries.all(r.get("partOf", [])))]
        told |= {id(r) for r in (procedure, *beside)}
        blocks.append(_work(procedure, beside))
    after = [r for r in facts if r["resourceType"] == "Observation" and kind_of(r) in _OF_THE_WORK]
    told |= {id(r) for r in after}
    if after:
        blocks.append(Lines([Line(t.subject, t.words) for t in lines(map(_pair, after))]))
    if not blocks:
        return _quiet(side, say("ears.no-work") if facts else say("ears.not-recorded"))
    return Cell(side, blocks)


def _work(procedure: Json, beside: list[Json]) -> Lines:
    """The method as title; how it ended, why, with what, how it was borne."""
    named = {words(o.get("valueCodeableConcept")) for o in beside if o["resourceType"] == "Observation"}
    nothing = nothing_done(procedure)
    mark, method = not_in_force(procedure), words(procedure.get("code")) or say("ears.nameless-work")
    pairs = [
        ("", say("told.nothing-done", words=method)) if nothing else (say("ears.outcome"), procedure_outcome(procedure))
    ]
    events = say("told.events")
    pairs += [(k, v) for k, v in procedure_details(procedure) if k != events]
    instrument, event = say("subject.instrument"), say("subject.event")
    pairs += [(instrument, used) for used in map(words, procedure.get("usedCode", ())) if used not in named]
    pairs += [_pair(r) for r in beside]
    pairs += [(event, what) for what in map(words, procedure.get("complication", ())) if what not in named]
    pairs += [(say("ears.note"), note["text"]) for note in procedure.get("note", ()) if note.get("text")]
    title = mark if nothing else f"{mark}: {method}" if mark else method
    return Lines([Line(t.subject, t.words) for t in lines(pairs)], sentence(title))


def _pair(resource: Json) -> Pair:
    if not is_told(resource):
        return "", said(resource)
    return subject(resource) or say("ears.note"), said(resource)
