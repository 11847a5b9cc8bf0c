"""Who wrote it, in which role, on which register or honestly on none, and how to reach them where that is not by the
clinic's phone, which stands with its hours in the head."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.fhir.tell.administrative import key_of, registrations
from bridge.fhir.tell.words import label, listed, name, upper_first
from bridge.render.entries import Entries
from bridge.render.head import phone_and_hours, reach
from bridge.render.page import Block, Section, Text
from bridge.shapes import Json
from bridge.wording import say


def author(entries: Entries) -> Section:
    people = [a for a in entries.all(entries.composition.get("author", [])) if a["resourceType"] in _PEOPLE]
    clinic = phone_and_hours(entries.get(entries.composition.get("custodian")) or {})
    blocks: list[Block] = [Text(_told(person, entries, clinic)) for person in people]
    title = say("author.refers" if entries.kind == "referral" else "author.wrote")
    return Section("who", title, blocks or [Text(say("empty.unavailable"))])


_PEOPLE = ("PractitionerRole", "Practitioner")


def _told(author: Json, entries: Entries, clinic: list[str]) -> str:
    is_role = author["resourceType"] == "PractitionerRole"
    person = (entries.get(author.get("practitioner")) or {}) if is_role else author
    role = listed([label(c) for c in author.get("code", ())]) if is_role else ""
    who, key = name(person.get("name")) or say("author.nameless"), key_of(person)
    parts = [f"{who} ({key})" if key else who, upper_first(role) or say("author.no-role"), *_registers(person)]
    parts += [line for line in dict.fromkeys(reach(person)) if line not in (*parts, *clinic)]
    return f"{', '.join(parts)}."


def _registers(person: Json) -> Iterator[str]:
    registered = registrations(person)
    stated = [upper_first(label(q.get("code"))) for q in person.get("qualification", ())]
    yield from (say("author.register", register=register, number=number) for register, number in registered)
    yield from stated
    if not registered and not stated:
        yield say("author.no-register")
