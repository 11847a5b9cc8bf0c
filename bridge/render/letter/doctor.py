"""The letter of one visit for a doctor: the family doctor's summary, or a referral."""

from __future__ import annotations

from bridge.render.codes import codes
from bridge.render.ears import EarTable, ear_table
from bridge.render.entries import Entries
from bridge.render.head import head
from bridge.render.letter.asked import asked
from bridge.render.letter.author import author
from bridge.render.letter.brief import brief
from bridge.render.letter.frame import framed, origin
from bridge.render.letter.pictures import ear_drawings, hearing
from bridge.render.letter.proposed import proposed
from bridge.render.page import Block, Page, Section, Text
from bridge.render.sections import attention, sections, table_notes
from bridge.wording import say


def doctor_page(entries: Entries) -> Page:
    """What the reader must do first, and what a correction changed; then both ears, then the rest in the order of the
    Composition."""
    made = framed(entries, head(entries))
    table = ear_table(entries)
    alert, offered = attention(entries), proposed(entries, table.told)
    rest = sections(entries, table.told)
    own_words = [section for section in rest if section.key == "notes"] if table.bare else []
    changed = [section for section in rest if section.key == "changes"]
    found = [
        *([alert] if alert else []),
        asked(entries),
        *changed,
        *([offered] if offered else []),
        *brief(entries),
        _ears(entries, table, own_words),
        *hearing(entries),
        *(section for section in rest if section not in (*own_words, *changed)),
        author(entries),
        Section("codes", say("codes.title"), [codes(entries)]),
    ]
    made.sections = _keyed(found)
    made.closing = [f"{say(f'closing.{entries.kind}')} {origin(entries)}"]
    return made


def _ears(entries: Entries, table: EarTable, own_words: list[Section]) -> Section:
    """The table; or the notes in running words, where there is nothing but these."""
    notes: list[Block] = [Text(note) for note in table_notes(entries)]
    if own_words:
        blocks = [block for section in own_words for block in section.blocks]
        return Section("ears", say("ears.own-words"), [*blocks, *notes])
    return Section("ears", say("ears.title"), [table.ears, *notes, *ear_drawings(entries)])


def _keyed(found: list[Section]) -> list[Section]:
    """Each with a key of its own."""
    keys: set[str] = set()
    for section in found:
        key = section.key or "section"
        section.key = key if key not in keys else f"{key}-{len(keys)}"
        keys.add(section.key)
    return found
