"""Every consent of every visit with its date and scope, in the words of the documents."""

from __future__ import annotations

from itertools import groupby

from bridge.fhir.tell.by_ear import by_ear
from bridge.fhir.tell.words import day
from bridge.render.handover.told import VisitTold
from bridge.render.page import Block, Line, Lines, Section, Text
from bridge.render.sections import empty_words, own_text, section_of
from bridge.wording import say, say_number

SECTIONS = ("sharing", "consent")


def consents(visits: list[VisitTold]) -> Section:
    """Newest first: that to share, then that to examine and treat; what was not recorded says so. Visits one after
    the other with the same answers are told together, each with its day."""
    blocks: list[Block] = [Text(say("handover.consents.note"), "caution")]
    for found, alike in groupby(reversed(visits), _answers):
        at = [say("handover.visit.short", day=day(v.visit.start), visit=v.visit.number) for v in alike]
        together = [Line(say_number("handover.consents.alike", len(at)), "; ".join(at))] if len(at) > 1 else []
        title = at[0] if len(at) == 1 else say("handover.from-to", first=at[-1], last=at[0])
        blocks += [Text(title, "strong"), Lines([*found, *together])]
    return Section("consents", say("handover.consents.title"), blocks)


def _answers(told: VisitTold) -> list[Line]:
    return [line for key in SECTIONS for line in _lines(told, key)]


def _lines(told: VisitTold, key: str) -> list[Line]:
    section = section_of(told.entries, key)
    title = say(f"handover.consents.{key}")
    if section is None:
        return [Line(title, say("ears.not-recorded"))]
    groups = by_ear(told.entries.all(section.get("entry", [])))
    said = [f"{line.subject}: {line.words}" if line.subject else line.words for group in groups for line in group.lines]
    said = said or own_text(section) or [empty_words(section) or say("ears.not-recorded")]
    return [Line(title, " ".join(said))]
