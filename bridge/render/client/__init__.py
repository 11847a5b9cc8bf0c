"""The client's own copy of one visit, in plain words: what comes next, both ears, what to do now, when to get help.

Nothing in it is surer than the record, and no suspicion is named: those are talked about (bridge/fhir/plain).
"""

from __future__ import annotations

from bridge.ear_words import EARS
from bridge.fhir.letter_kind import CLIENT
from bridge.fhir.own import first_word, word
from bridge.fhir.plain import plain_by_ear
from bridge.fhir.plain.ahead import helpers
from bridge.fhir.tell.around import is_past_event
from bridge.fhir.tell.by_ear import stage
from bridge.fhir.tell.words import day
from bridge.render.client.coming import coming
from bridge.render.client.ears import both_ears, words_of
from bridge.render.client.general import General, general
from bridge.render.client.people import about_you, addressed, introduction, who_saw
from bridge.render.entries import Entries
from bridge.render.head import encounter, head
from bridge.render.letter.frame import framed
from bridge.render.page import Block, Line, Lines, Page, Part, Section, Text
from bridge.render.referral import urgent_marks
from bridge.render.sections import attention, own_text, section_of
from bridge.wording import say


def client_page(entries: Entries) -> Page:
    """The page for the client, of a document of ours about one visit.

    Of a document for doctors too: what that says in words of its own, and not in facts, is left out.
    """
    made = framed(entries, head(entries))
    made.kind, made.title = CLIENT, say("copy.title")
    made.marks = [mark for mark in made.marks if mark not in {*urgent_marks(entries)}]
    made.head[1] = Part(say("copy.to"), addressed(entries))
    made.client_title, made.client = say("copy.you"), about_you(entries)
    made.introduction = introduction(entries)
    more = general(entries)
    found = [_alert(entries), coming(entries), _own(entries, "copies", "copy.tell.title"), _own(entries, "changes")]
    found += [*_of_the_visit(entries, more), _help(more), who_saw(entries), _kept()]
    made.sections = [section for section in found if section is not None]
    made.closing = [f"{say('copy.closing.general')} {say('copy.closing.sources', sources=more.sources)}"]
    return made


def _of_the_visit(entries: Entries, more: General) -> list[Section | None]:
    absent = _absent(entries)
    if absent and not _looked_or_worked(entries):
        return [Section("ears", say("copy.absent.title"), [Text(line) for line in absent]), _now(entries, more)]
    return [
        Section("ears", say("copy.ears.title"), [*_refused(entries), *both_ears(entries)]),
        _thought(entries),
        _tested(entries),
        _now(entries, more),
    ]


def _alert(entries: Entries) -> Section | None:
    """Red flags, without a name for them."""
    section = attention(entries)
    if section is not None and entries.kind != CLIENT:
        lines = (say("copy.alert.open"), helpers("urgent", entries.region.name))
        return Section(section.key, say("copy.alert.title"), [Text(line) for line in lines], frame="alert")
    return section


def _absent(entries: Entries) -> list[str]:
    """What is to be said where the client was not seen."""
    visit = encounter(entries)
    attended = first_word("attendance", visit.get("type", ()))
    key = {"did not attend": "missed", "left before examination": "left"}.get(attended or "")
    if key is None:
        return []
    when = day(str(visit.get("period", {}).get("start", "")))
    return [say(f"copy.absent.{key}", day=when), say("copy.absent.again")]


def _looked_or_worked(entries: Entries) -> bool:
    """Whether a look at an ear or work on it is recorded, whatever is said of the visit."""
    facts = [fact for side in EARS for fact in entries.by_ear[side]]
    return any(stage(r) or (r["resourceType"] == "Procedure" and not is_past_event(r)) for r in facts)


def _refused(entries: Entries) -> list[Block]:
    """That the client did not agree to the work, or not any more."""
    found = {word("treatment", consent.get("policyRule")) for consent in entries.of("Consent")}
    return [Text(say(f"copy.work.{answer}")) for answer in ("refused", "withdrawn") if answer in found]


def _thought(entries: Entries) -> Section | None:
    found = plain_by_ear(r for r in entries.resources if r["resourceType"] == "Condition")
    blocks: list[Block] = [Lines(words_of(group), group.title) for group in found]
    return Section("diagnoses", say("copy.think.title"), blocks) if blocks else None


def _tested(entries: Entries) -> Section | None:
    """That the hearing was tested: numbers without a talk about them say too much or too little."""
    tests = section_of(entries, "investigations") or {}
    tested = any(r["resourceType"] == "Observation" for r in entries.all(tests.get("entry", [])))
    title = say("copy.hearing.title")
    return Section("investigations", title, [Text(say("copy.hearing.done"))]) if tested else None


def _now(entries: Entries, more: General) -> Section | None:
    told = [line for group in plain_by_ear(entries.of("Communication")) for line in words_of(group)]
    blocks = _headed(say("copy.now.advice"), [line.words for line in told])
    blocks += _headed(say("copy.now.more"), more.aftercare)
    return Section("advice", say("copy.now.title"), blocks) if blocks else None


def _help(more: General) -> Section:
    blocks = [block for title, signs in more.signs for block in _headed(title, signs)]
    return Section("help", say("copy.help.title"), blocks)


def _headed(title: str, told: list[str]) -> list[Block]:
    """A list under a line of its own, which may be long."""
    return [Text(title, "strong"), Lines([Line("", words) for words in told])] if told else []


def _own(entries: Entries, key: str, title: str = "") -> Section | None:
    """A section of the client's own document that holds words alone."""
    section = section_of(entries, key) if entries.kind == CLIENT else None
    told = own_text(section) if section else []
    if not section or not told:
        return None
    named = say(title) if title else str(section.get("title", ""))
    return Section(key, named, [Lines([Line("", words) for words in told])])


def _kept() -> Section:
    return Section("notes", say("copy.notes.title"), [Text(say("copy.notes.kept"))])
