"""The sections of a document of ours: everything but the first box and the ears, by the Composition's order."""

from __future__ import annotations

import re
from html import unescape

from bridge.fhir.in_force import label as not_in_force
from bridge.fhir.own import word
from bridge.fhir.tell import ear
from bridge.fhir.tell.administrative import tell_attendance
from bridge.fhir.tell.by_ear import Group, Pair, by_ear, in_groups, pair
from bridge.fhir.tell.words import label, sentence
from bridge.render.entries import Entries
from bridge.render.page import Block, Line, Lines, Section, Text
from bridge.shapes import Json
from bridge.wording import say

ABOUT_PEOPLE = ("Composition", "Patient", "Organization", "Practitioner", "PractitionerRole", "Device", "Provenance",
                "Encounter", "RelatedPerson")  # fmt: skip
"""Told in the head, under the author or at the end."""
ALERT = "alert"
IN_THE_TABLE = ("examination", "procedures")
IN_THE_HEAD = ("people", "doctor", "author", ALERT)
PROPOSED = ("diagnoses", "problems")
FIRST = {"summary": "actions", "referral": "referral"}
"""The section that the box on the first page tells, by kind of letter."""
EMPTY_REASONS = ("nilknown", "notasked", "withheld", "unavailable", "notstarted", "closed")
_TAG = re.compile(r"<[^>]*>")


def all_sections(entries: Entries) -> list[Json]:
    found: list[Json] = entries.composition.get("section", [])
    return found


def section_of(entries: Entries, key: str) -> Json | None:
    return next((s for s in all_sections(entries) if key_of(s) == key), None)


def key_of(section: Json) -> str:
    """The key that the shipped section plans give a heading, by its own code; empty for another heading."""
    return word("section", section.get("code")) or ""


def attention(entries: Entries) -> Section | None:
    """What a letter says before everything else: red flags that stand, in the words of its own section."""
    section = section_of(entries, ALERT)
    if section is None:
        return None
    title = str(section.get("title") or say("section.alert"))
    return Section(ALERT, title, [Text(words) for words in own_text(section)], frame="alert")


def sections(entries: Entries, told: set[int]) -> list[Section]:
    """All but what the head and the first box tell; what the table of the ears has told stands only there. Adds to
    `told`."""
    found: list[Section] = []
    first = FIRST.get(entries.kind, "actions")
    for section in all_sections(entries):
        key = key_of(section)
        resources = entries.all(section.get("entry", []))
        left = [r for r in resources if id(r) not in told]
        if key == first == "actions":  # the box tells only what is in force; the rest comes at the end
            resources = [r for r in resources if not not_in_force(r)]
        told |= {id(r) for r in resources}
        if key in (first, *IN_THE_HEAD) or (key in (*IN_THE_TABLE, *PROPOSED, "notes") and not left):
            continue
        found.append(_section(section, left, entries))
    rest = [r for r in entries.resources if id(r) not in told and r["resourceType"] not in ABOUT_PEOPLE]
    return found + ([Section("more", say("section.more"), groups(by_ear(rest)))] if rest else [])


def table_notes(entries: Entries) -> list[str]:
    """What the examination and procedure headings say where they have no facts."""
    empty = (s for s in all_sections(entries) if key_of(s) in IN_THE_TABLE and not s.get("entry"))
    return [words for words in map(empty_words, empty) if words]


def groups(told: list[Group]) -> list[Block]:
    return [Lines([Line(line.subject, line.words) for line in group.lines], group.title) for group in told]


def _section(section: Json, resources: list[Json], entries: Entries) -> Section:
    title = section.get("title") or label(section.get("code")) or say("section.untitled")
    visited = any(r["resourceType"] == "Encounter" for r in resources)
    blocks = _attended(resources, entries) if visited else groups(by_ear(resources))
    if not blocks and (own := own_text(section)):
        blocks = [Lines([Line("", words) for words in own])]
    return Section(key_of(section), title, blocks or [Text(empty_words(section) or say("empty.unavailable"))])


def _attended(resources: list[Json], entries: Entries) -> list[Block]:
    """Where it was and why the client came; the head says when, and the end who wrote the letter."""
    authors = entries.all(entries.composition.get("author", []))
    authors += entries.all([a["practitioner"] for a in authors if "practitioner" in a])
    left = [r for r in resources if not any(r is author for author in authors)]
    plain = [r for r in left if r["resourceType"] == "Encounter" and not not_in_force(r)]
    told: list[tuple[str, str, Pair]] = [("", "", ("", tell_attendance(visit))) for visit in plain]
    told += [(ear(r) or "", "", pair(r)) for r in left if not any(r is visit for visit in plain)]
    return groups(in_groups(told))


def own_text(section: Json) -> list[str]:
    """What a section says in its own text alone, line by line, such as who gets which letter."""
    if section.get("emptyReason") or section.get("entry"):
        return []
    said = (unescape(part).strip() for part in _TAG.split(str(section.get("text", {}).get("div", ""))))
    return [part for part in said if part]


def empty_words(section: Json) -> str:
    """Why a heading has nothing under it; empty where it does not say."""
    reason, code = section.get("emptyReason", {}), empty_code(section)
    return sentence(str(reason.get("text") or "")) or (say(f"empty.{code}") if code in EMPTY_REASONS else "")


def empty_code(section: Json) -> str:
    return next((str(c.get("code", "")) for c in section.get("emptyReason", {}).get("coding", ())), "")
