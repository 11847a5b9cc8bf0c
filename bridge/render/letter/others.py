"""A document that this tool did not write about one visit: its authors' own text, heading by heading."""

from __future__ import annotations

from bridge.render.entries import Entries
from bridge.render.foreign import passages
from bridge.render.head import head
from bridge.render.letter.frame import document_language, framed
from bridge.render.page import Block, Page, Passage, Section, Text
from bridge.wording import say


def others_page(entries: Entries) -> Page:
    made = framed(entries, head(entries))
    kind = "record" if entries.whole_record else "foreign"
    spoken = document_language(entries)
    for number, passage in enumerate(passages(entries), 1):
        blocks: list[Block] = [Passage(passage.html, spoken)] if passage.html else []
        blocks += [Text(passage.empty)] if passage.empty and not passage.html else []
        made.sections.append(Section(f"passage-{number}", passage.title, blocks, passage.level))
    if not made.sections:
        made.sections = [Section("passage", say("passage.title"), [Text(say("passage.none"))])]
    made.introduction = say(f"introduction.{kind}")
    made.closing = [say(f"closing.{kind}")]
    return made
