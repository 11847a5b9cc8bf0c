"""The whole index page, in the order in which a clinic that was not there needs it."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.fhir.systems import OWN, SCT
from bridge.fhir.tell.words import day, told_in
from bridge.render.as_html import HANDOVER
from bridge.render.client.people import addressed
from bridge.render.entries import Entries
from bridge.render.handover.baseline import baseline
from bridge.render.handover.checking import checking
from bridge.render.handover.consents import consents
from bridge.render.handover.hazards import hazards
from bridge.render.handover.open_items import open_items
from bridge.render.handover.told import Told
from bridge.render.handover.visits import amendments, visits_in_order
from bridge.render.handover.worked import worked
from bridge.render.head import head
from bridge.render.letter.frame import framed
from bridge.render.page import Block, Files, Grid, Line, Lines, Page, Part, Section, Text
from bridge.render.sections import attention
from bridge.wording import say, say_number


def handover_page(told: Told) -> Page:
    """The page of a hand-over. The same hand-over, the same page."""
    entries = Entries(told.summary)
    with told_in(entries.language):
        return _page(told, entries)


def _page(told: Told, entries: Entries) -> Page:
    made = framed(entries, head(entries))
    made.kind, made.title = HANDOVER, say(f"handover.title.{told.reader}")
    if told.reader == "client":
        made.head[1] = Part(say("part.to"), addressed(entries))
    made.head[2] = Part(say("handover.part"), rows=_about(told, made.head[2].rows))
    made.marks = list(_marks(told, made.marks))
    made.introduction = say(f"handover.introduction.{told.reader}")
    made.sections = list(_sections(told))
    made.closing = [say("handover.closing"), say("handover.made-by", tool=told.tool)]
    return made


def _marks(told: Told, marks: list[str]) -> Iterator[str]:
    """Which visits are drafts, where others are not: the whole is a draft then, and most of it may hold."""
    drafts = [v.visit.number for v in told.newest if v.visit.approved is None]
    for mark in marks:
        some = mark == say("mark.draft") and 0 < len(drafts) < len(told.newest)
        yield say("handover.drafts", visits=", ".join(drafts)) if some else mark


def _about(told: Told, rows: list[tuple[str, str]]) -> list[tuple[str, str]]:
    """Day, who hands over, visits, versions kept, number of the client, files; then what the summary says of itself."""
    older = sum(v.superseded is not None for v in told.visits)
    found = [(say("handover.made"), day(told.made)), (say("handover.by"), told.by), *rows[:1]]
    found += [(say("handover.older"), str(older))] if older else []
    found += [(say("handover.files"), say_number("handover.files.number", len(told.files)))]
    return [(name, words) for name, words in found if words]


def _sections(told: Told) -> Iterator[Section]:
    visits = told.newest
    if (red := attention(visits[-1].entries)) is not None:
        yield red
    yield hazards(visits)
    yield from _left_out(told)
    yield Section("answers", say("handover.answers.title"), [Lines(_answers())])
    yield baseline(visits, told.pictures)
    yield worked(visits)
    yield open_items(visits)
    yield consents(visits)
    yield amendments(told.visits)
    yield from visits_in_order(visits)
    yield _words(told)
    yield _files(told)
    yield checking(told)


def _answers() -> list[Line]:
    keys = ("normal", "not-seen", "not-examined", "not-recorded")
    return [Line(say(f"handover.answer.{key}"), say(f"handover.answer.{key}.means")) for key in keys]


def _left_out(told: Told) -> Iterator[Section]:
    if told.reader == "client":
        lines = [Line("", say_number(key, number)) for key, number in told.left.items()]
        lines = [*(lines or [Line("", say("handover.left.nothing"))]), Line("", say("handover.left.ask"))]
        yield Section("left", say("handover.left.title"), [Lines(lines)])


def _words(told: Told) -> Section:
    headings = [say(f"handover.words.{name}") for name in ("word", "system", "version", "code", "display", "times")]
    rows = [
        [w.word, w.system or say("handover.words.none"), w.version or say("handover.words.no-version"), w.code,
         w.display, str(w.times)]
        if w.system else [w.word, say("handover.words.none"), "", "", "", str(w.times)]
        for w in told.words
    ]  # fmt: skip
    blocks: list[Block] = [Text(say("handover.words.note", sct=SCT, own=OWN), "caution")]
    return Section("words", say("handover.words.title"), [*blocks, Grid(headings, rows)] if rows else blocks)


def _files(told: Told) -> Section:
    headings = [say(f"handover.files.{name}") for name in ("name", "what", "size", "sha256")]
    rows = [(f.name, f.what, str(f.size), f.sha256) for f in told.files]
    return Section("files", say("handover.files.title"), [Text(say("handover.files.note")), Files(headings, rows)])
