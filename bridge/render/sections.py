"""The sections of a document of ours: what is asked, then everything else by the Composition's order."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from html import unescape

from bridge.fhir.in_force import label as not_in_force
from bridge.fhir.own import word
from bridge.fhir.tell import ear, tell
from bridge.fhir.tell.administrative import key_of as practitioner_key
from bridge.fhir.tell.administrative import registrations
from bridge.fhir.tell.clinical import request_details
from bridge.fhir.tell.referral import is_referral, referral_headline
from bridge.fhir.tell.task import task_action, task_details
from bridge.fhir.tell.words import label, listed, name, sentence, upper_first, words
from bridge.render.entries import Entries
from bridge.render.facts import Group, Line, by_ear
from bridge.render.head import reach
from bridge.shapes import Json

ABOUT_PEOPLE = ("Composition", "Patient", "Organization", "Practitioner", "PractitionerRole", "Device", "Provenance",
                "Encounter", "RelatedPerson")  # fmt: skip
"""Told in the head, under the author or at the end."""
IN_THE_TABLE = ("examination", "procedures")
IN_THE_HEAD = ("people", "doctor")
ALERT = "alert"
FIRST = {"summary": "actions", "referral": "referral"}
"""The section that the box on the first page tells, by kind of letter."""
_TAG = re.compile(r"<[^>]*>")
EMPTY_WORDS = {
    "nilknown": "None.",
    "notasked": "Not asked.",
    "withheld": "Withheld.",
    "unavailable": "Not recorded.",
    "notstarted": "Not recorded.",
    "closed": "Not recorded.",
}


@dataclass(slots=True)
class Ask:
    action: str
    details: list[str]


@dataclass(slots=True)
class Asks:
    """What the reader is asked to do; `answer` stands where there is no request."""

    asks: list[Ask] = field(default_factory=list)
    answer: str = ""
    explained: str = ""
    referred: list[str] = field(default_factory=list)
    """What the clinic has sent elsewhere itself, told in the same box."""


@dataclass(slots=True)
class Section:
    title: str
    groups: list[Group] = field(default_factory=list)
    intro: str = ""
    empty: str = ""
    key: str = ""


@dataclass(slots=True)
class Author:
    name: str
    lines: list[str]


def asks(entries: Entries) -> Asks:
    section = next((s for s in _sections(entries) if key_of(s) == "actions"), {})
    named = entries.all(section.get("entry", []))
    found = [r for r in named if not not_in_force(r)]
    referrals = [r for r in entries.resources if r["resourceType"] == "ServiceRequest" and is_referral(r)]
    referrals = [r for r in referrals if not not_in_force(r)]
    referred = [referral_headline(r) for r in referrals]
    if found:
        return Asks([_ask(r) for r in found], referred=referred)
    if named:
        return Asks(answer="No request that is in force", referred=referred)
    reason = _empty_code(section)
    explained = str(section.get("emptyReason", {}).get("text", ""))
    if reason == "nilknown":
        return Asks(answer="Nothing", explained=explained, referred=referred)
    if reason in ("", "unavailable"):
        return Asks(answer=explained.rstrip(".") or "No request is recorded", referred=referred)
    return Asks(answer="No request is recorded", explained=explained, referred=referred)


def _ask(resource: Json) -> Ask:
    if resource["resourceType"] not in ("ServiceRequest", "Task"):
        return Ask(tell(resource), [])
    side = ear(resource)
    details = [f"{side.title()} ear."] if side else []
    if resource["resourceType"] == "Task":
        return Ask(sentence(task_action(resource)), details + [sentence(d) for d in task_details(resource)])
    return Ask(sentence(words(resource.get("code"))), details + [sentence(d) for d in request_details(resource)])


def attention(entries: Entries) -> Section | None:
    """What a letter says before everything else: red flags that stand, in the words of its own section."""
    section = next((s for s in _sections(entries) if key_of(s) == ALERT), None)
    if section is None:
        return None
    return Section(str(section.get("title") or "Needs attention now"), [Group("", _own_lines(section))])


def sections(entries: Entries, told: set[int]) -> list[Section]:
    """All but what the head tells; what the table of the ears has told stands only there. Adds to `told`."""
    found: list[Section] = []
    first = FIRST.get(entries.kind, "actions")
    for section in _sections(entries):
        key = key_of(section)
        resources = entries.all(section.get("entry", []))
        left = [r for r in resources if id(r) not in told]
        if key == first == "actions":  # the asks tell only what is in force; the rest comes at the end
            resources = [r for r in resources if not not_in_force(r)]
        told |= {id(r) for r in resources}
        if key in (ALERT, first, *IN_THE_HEAD) or key == "author" or (key in (*IN_THE_TABLE, "notes") and not left):
            continue
        found.append(_section(section, left))
    rest = [r for r in entries.resources if id(r) not in told and r["resourceType"] not in ABOUT_PEOPLE]
    return found + ([Section("Also in this document", by_ear(rest))] if rest else [])


def table_notes(entries: Entries) -> list[str]:
    """What the examination and procedure headings say where they have no facts."""
    empty = (s for s in _sections(entries) if key_of(s) in IN_THE_TABLE and not s.get("entry"))
    return [words for words in map(_empty_words, empty) if words]


def _section(section: Json, resources: list[Json]) -> Section:
    title = section.get("title") or label(section.get("code")) or "Section without a title"
    proposed = any(r["resourceType"] == "Condition" for r in resources) and key_of(section) in ("diagnoses", "problems")
    intro = "Proposed for the record; the doctor decides." if proposed else ""
    listed = [] if resources else _own_lines(section)
    groups = [Group("", listed)] if listed else by_ear(resources)
    empty = "" if groups else _empty_words(section) or "Not recorded."
    return Section(title, groups, intro, empty, key_of(section))


def _own_lines(section: Json) -> list[Line]:
    """What a section says in its own text alone, line by line, such as who gets which letter."""
    if section.get("emptyReason") or section.get("entry"):
        return []
    said = (unescape(part).strip() for part in _TAG.split(str(section.get("text", {}).get("div", ""))))
    return [Line("", [part]) for part in said if part]


def _empty_words(section: Json) -> str:
    reason = section.get("emptyReason", {})
    return sentence(str(reason.get("text") or "")) or EMPTY_WORDS.get(_empty_code(section), "")


def _empty_code(section: Json) -> str:
    return next((str(c.get("code", "")) for c in section.get("emptyReason", {}).get("coding", ())), "")


def _sections(entries: Entries) -> list[Json]:
    found: list[Json] = entries.composition.get("section", [])
    return found


def key_of(section: Json) -> str:
    """The key that the shipped section plans give a heading, by its own code; empty for another heading."""
    return word("section", section.get("code")) or ""


def authors(entries: Entries) -> list[Author]:
    """Who wrote it, in which role, on which register or honestly on none, and how to reach them."""
    clinic = entries.get(entries.composition.get("custodian")) or {}
    found = [_author(a, entries) for a in entries.all(entries.composition.get("author", [])) if a["resourceType"]
             in ("PractitionerRole", "Practitioner")]  # fmt: skip
    for author in found:
        author.lines += [line for line in reach(clinic) if line not in author.lines]
    return found


def _author(author: Json, entries: Entries) -> Author:
    is_role = author["resourceType"] == "PractitionerRole"
    person = (entries.get(author.get("practitioner")) or {}) if is_role else author
    role = listed([label(c) for c in author.get("code", ())]) if is_role else ""
    key = practitioner_key(person)
    who = name(person.get("name")) or "Name not recorded"
    return Author(
        f"{who} ({key})" if key else who,
        [upper_first(role) or "Role not recorded", *_registers(person), *reach(person)],
    )


def _registers(person: Json) -> Iterator[str]:
    registered = registrations(person)
    stated = [upper_first(label(q.get("code"))) for q in person.get("qualification", ())]
    yield from (f"{register}, number {number}" for register, number in registered)
    yield from stated
    if not registered and not stated:
        yield "Register not recorded"
