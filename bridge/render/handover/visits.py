"""Each visit in time order with both ears, and what was amended: older versions are named and kept."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from bridge.fhir.elements import human_name
from bridge.fhir.tell.words import day, moment
from bridge.render.handover.told import VisitTold
from bridge.render.letter import page_of
from bridge.render.page import Block, Ears, Line, Lines, Pairs, Pictures, Section, Text
from bridge.render.sections import own_text, section_of
from bridge.visit import Visit
from bridge.wording import say

LEFT_OUT = ("codes", "people", "doctor", "alert", "changes", "consent", "sharing")
"""Told once for all visits: codes, people, consents and amendments; red flags at the top and among what is open."""
ASKED = "asked"


def visits_in_order(visits: list[VisitTold]) -> Iterator[Section]:
    """A heading of each visit, oldest first, and below it what its document says."""
    for number, told in enumerate(visits, start=1):
        visit = told.visit
        title = say("handover.visit.title", day=day(visit.start), visit=visit.number, version=visit.version)
        key = f"visit-{number}"
        page = page_of(told.document)
        rows = [(name, words) for part in page.head[2:] for name, words in part.rows]
        rows[:0] = [(say("handover.visit.clinic"), visit.clinic.name)] if visit.clinic else []
        rows += [] if visit.approved else [(say("about.approved"), say("handover.visit.not-approved"))]
        yield Section(key, title, [Pairs(rows), *_files(told)])
        for section in page.sections:
            if section.key not in LEFT_OUT and section.frame != "alert":
                blocks = [_apart(block, key) for block in section.blocks if not isinstance(block, Pictures)]
                title = say("handover.open.actions") if section.key == ASKED else section.title
                if blocks:
                    yield Section(f"{key}-{section.key}", title, blocks, level=3, under=key)


def _apart(block: Block, key: str) -> Block:
    return replace(block, apart=f"-{key}") if isinstance(block, Ears) else block


def _files(told: VisitTold) -> list[Block]:
    return [Lines([Line(say("handover.visit.files"), ", ".join([told.file, *told.letters]))])]


def amendments(visits: list[VisitTold]) -> Section:
    """Each version that another replaced, when each was written, what changed, and where the old one is kept."""
    old = [told for told in visits if told.superseded is not None]
    by_key = {(told.visit.number, told.visit.version): told for told in visits}
    blocks: list[Block] = []
    for told in old:
        title = say("handover.visit.short", day=day(told.visit.start), visit=told.visit.number)
        blocks += [Text(title, "strong"), Lines(list(_replaced(told, by_key)))]
    if not old:
        lost = [told for told in visits if told.visit.replaces is not None]
        key = "handover.amended.lost" if lost else "handover.amended.none"
        blocks.append(Text(say(key), "quiet"))
    return Section("amendments", say("handover.amended.title"), blocks)


def _replaced(told: VisitTold, by_key: dict[tuple[str, int], VisitTold]) -> Iterator[Line]:
    visit = told.visit
    newer = next((t for t in by_key.values() if t.visit.number == visit.number and t.visit.replaces == visit.version),
                 by_key.get((visit.number, told.superseded or 0)))  # fmt: skip
    yield Line(say("handover.amended.old", version=visit.version), _written(told))
    if newer is not None:
        yield Line(say("handover.amended.new", version=newer.visit.version), _written(newer))
        changed = section_of(newer.entries, "changes")
        for words in own_text(changed) if changed else ():
            yield Line("", words)
    yield Line(say("handover.amended.kept"), told.file)


def _written(told: VisitTold) -> str:
    visit = told.visit
    when = moment(visit.recorded_at or visit.start)
    if visit.approved is None:
        return say("handover.amended.written", when=when)
    return say("handover.amended.approved", when=when, by=_approver(visit), at=moment(visit.approved.at))


def _approver(visit: Visit) -> str:
    """By name and key, since keys are another's at another clinic; the key where no name is recorded."""
    assert visit.approved is not None
    key = visit.approved.by
    who = next((p.name for p in visit.practitioners if p.key == key and p.name), None)
    return f"{human_name(who, 'official')['text']} ({key})" if who else key
