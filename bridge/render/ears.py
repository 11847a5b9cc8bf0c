"""Each ear side by side: seen before, done, seen after, and what could not be seen or was not examined.

Four answers keep four wordings. An ear or a stage without any fact says "Not recorded" and nothing else.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from bridge.ear_words import EARS, STAGES, Ear, Stage
from bridge.fhir.in_force import label as not_in_force
from bridge.fhir.own import kinds, word
from bridge.fhir.tell import ear, is_told, said, subject
from bridge.fhir.tell.around import is_past_event
from bridge.fhir.tell.clinical import nothing_done, procedure_details, procedure_outcome
from bridge.fhir.tell.observation import kind_of, limits_sight, parts
from bridge.fhir.tell.words import upper_first, words
from bridge.render.entries import Entries
from bridge.render.facts import Line, lines
from bridge.shapes import Json

NOT_RECORDED = "Not recorded"
OWN_WORDS = "In the clinic’s own words"
IN_WORDS = "Not recorded in fields of its own; see the clinic’s own words"
_MAIN_PARTS = (("wax", "wax"), ("canal", "ear canal"), ("drum", "eardrum"))
_OF_THE_WORK = ("hearing-change",)


@dataclass(slots=True)
class Block:
    """Lines under one method, or under none."""

    title: str
    lines: list[Line]


@dataclass(slots=True)
class Cell:
    """What one row says of one ear: blocks, or one plain answer."""

    ear: Ear
    blocks: list[Block] = field(default_factory=list)
    answer: str = ""


@dataclass(slots=True)
class Row:
    key: str
    title: str
    cells: list[Cell]


@dataclass(slots=True)
class EarTable:
    rows: list[Row]
    bare: bool
    """Whether it holds no fact of either ear."""
    told: set[int]
    """`id()` of each resource that the table tells, so that nothing is told twice or not at all."""


def ear_table(entries: Entries) -> EarTable:
    facts = {side: [r for r in entries.resources if ear(r) == side] for side in EARS}
    told: set[int] = set()
    in_words = [side for side in EARS if facts[side] and all(kind_of(r) == "ear-note" for r in facts[side])]
    before, after = ([_stage(facts[side], side, stage, told) for side in EARS] for stage in STAGES)
    done = [_done(facts[side], entries, side, told) for side in EARS]
    limits = [_limits(facts[side], side, told) for side in EARS]
    rows = [
        Row("before", "Seen before", before),
        Row("done", "Done", done),
        Row("after", "Seen after", after),
        Row("limits", "Could not be seen, or not examined", limits),
    ]
    cells = [cell for row in rows for cell in row.cells]
    bare = not any(cell.blocks for cell in cells) and not told
    for cell in cells:
        cell.answer = IN_WORDS if cell.ear in in_words else cell.answer
    for cell in () if bare else (c for c in before if c.ear in in_words):
        cell.blocks, cell.answer = [Block(OWN_WORDS, lines(("", said(r)) for r in facts[cell.ear]))], ""
        told |= {id(r) for r in facts[cell.ear]}
    return EarTable(rows, bare, told)


def stage(resource: Json) -> Stage | None:
    """The stage of the visit at which an Observation was made."""
    if resource["resourceType"] != "Observation":
        return None
    for component in parts(resource).get("exam-stage", ()):
        found = word("stage", component.get("valueCodeableConcept"))
        if found in STAGES:
            return "before" if found == "before" else "after"
    return None


def _stage(facts: list[Json], side: Ear, when: Stage, told: set[int]) -> Cell:
    mine = [r for r in facts if stage(r) == when and _of_examination(r)]
    if not mine:
        return Cell(side, answer=NOT_RECORDED)
    seen = [r for r in mine if not limits_sight(r)]
    told |= {id(r) for r in mine}
    if seen:
        missing = _not_recorded(mine)
        return Cell(side, [Block("", lines([*map(_pair, seen), *missing]))])
    whole = [said(r) for r in mine if kind_of(r) == "examination-view"]
    return Cell(side, answer=upper_first(whole[0]) if whole else "No finding; see what could not be seen, below")


def _not_recorded(mine: list[Json]) -> list[tuple[str, str]]:
    """The main parts that a stage with some facts says nothing of, so that silence is not taken for normal."""
    if any(kind_of(r) == "examination-view" and limits_sight(r) for r in mine):
        return []
    said_of = {kind_of(r).rpartition("-")[0] for r in mine}
    missing = [words for stem, words in _MAIN_PARTS if stem not in said_of]
    return [(NOT_RECORDED.lower(), ", ".join(missing))] if missing else []


def _of_examination(observation: Json) -> bool:
    """Hearing tests have a stage too, and a section of their own."""
    return not kind_of(observation) or kinds()[kind_of(observation)]["category"] == "exam"


def _limits(facts: list[Json], side: Ear, told: set[int]) -> Cell:
    if not facts:
        return Cell(side, answer=NOT_RECORDED)
    limits = [r for r in facts if limits_sight(r)]
    told |= {id(r) for r in limits}
    pairs = [(f"{subject(r)}, {stage(r)} the work" if stage(r) else subject(r), said(r)) for r in limits]
    return Cell(side, [Block("", lines(pairs))]) if pairs else Cell(side, answer="Nothing of this kind is recorded")


def _done(facts: list[Json], entries: Entries, side: Ear, told: set[int]) -> Cell:
    work = [r for r in facts if r["resourceType"] == "Procedure" and not is_past_event(r)]
    blocks = []
    for procedure in work:
        beside = [r for r in facts if any(p is procedure for p in entries.all(r.get("partOf", [])))]
        told |= {id(r) for r in (procedure, *beside)}
        blocks.append(Block(*_work(procedure, beside)))
    after = [r for r in facts if r["resourceType"] == "Observation" and kind_of(r) in _OF_THE_WORK]
    told |= {id(r) for r in after}
    if after:
        blocks.append(Block("", lines(map(_pair, after))))
    if not blocks:
        return Cell(side, answer="No work on this ear is recorded" if facts else NOT_RECORDED)
    return Cell(side, blocks)


def _work(procedure: Json, beside: list[Json]) -> tuple[str, list[Line]]:
    """The method as title; how it ended, why, with what, how it was borne."""
    named = {words(o.get("valueCodeableConcept")) for o in beside if o["resourceType"] == "Observation"}
    pairs = [("", "Nothing was done")] if nothing_done(procedure) else [("outcome", procedure_outcome(procedure))]
    pairs += [(k, v) for k, v in procedure_details(procedure) if k != "events"]
    pairs += [("instrument", used) for used in map(words, procedure.get("usedCode", ())) if used not in named]
    pairs += [_pair(r) for r in beside]
    pairs += [("event", event) for event in map(words, procedure.get("complication", ())) if event not in named]
    pairs += [("note", note["text"]) for note in procedure.get("note", ()) if note.get("text")]
    mark, method = not_in_force(procedure), words(procedure.get("code")) or "work without a name"
    return upper_first(f"{mark}: {method}" if mark else method), lines(pairs)


def _pair(resource: Json) -> tuple[str, str]:
    if not is_told(resource):
        return "", said(resource)
    return subject(resource) or "note", said(resource)
