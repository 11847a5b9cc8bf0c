"""A document that this tool did not write about one visit: its authors' own text, heading by heading."""

from __future__ import annotations

from bridge.render.entries import Entries
from bridge.render.foreign import passages
from bridge.render.head import head
from bridge.render.letter.frame import framed, language
from bridge.render.page import Block, Page, Passage, Section, Text

_RECORD = "This document tells of all the client’s visits together, in the words of each visit, the newest first."
_FOREIGN = (
    "This document was not written by visit-bridge. Its text is shown as it came, without pictures, links and layout."
)


def others_page(entries: Entries) -> Page:
    made = framed(entries, head(entries))
    spoken = language(entries)
    found: list[Section] = []
    for number, passage in enumerate(passages(entries), 1):
        blocks: list[Block] = [Passage(passage.html, spoken)] if passage.html else []
        blocks += [Text(passage.empty)] if passage.empty and not passage.html else []
        found.append(Section(f"passage-{number}", passage.title, blocks, passage.level))
    made.introduction = _RECORD if entries.whole_record else _FOREIGN
    made.sections = found or [Section("passage-0", "Text", [Text("There is nothing to read in this bundle.")])]
    made.closing = [
        "This summary tells what was recorded at the visits. Suspicions in it are not diagnoses. "
        "Whoever reads it decides what follows; local rules come first."
        if entries.whole_record
        else "This page shows a document as it was received. The reader decides what follows; local rules come first."
    ]
    return made
