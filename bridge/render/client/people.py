"""To whom the copy goes, who the client is, and who saw them."""

from __future__ import annotations

from bridge.fhir.own import word
from bridge.fhir.tell.words import address, day, label, listed, name, upper_first, words
from bridge.render.entries import Entries
from bridge.render.head import client_number, encounter
from bridge.render.page import Section, Text
from bridge.shapes import Json
from bridge.wording import say

CHILD = 16
"""Under this age the copy goes to the person who speaks for the client, where one is recorded (common practice)."""


def addressed(entries: Entries) -> list[str]:
    """The client with their address; a child's guardian where one is named."""
    patient = entries.patient
    who = name(patient.get("name")) or say("copy.name.none")
    guardians = _guardians(entries)
    lines = [
        say("copy.to.guardian", name=name(g.get("name")), relationship=_relation(g), client=who) for g in guardians
    ]
    return [*(lines or [who]), *map(address, patient.get("address", ()))]


def introduction(entries: Entries) -> str:
    """Whose copy it is, and for a child whom “you” means."""
    copy = say("copy.mark.copy")
    if not _guardians(entries):
        return copy
    return say("copy.mark.child", name=name(entries.patient.get("name")) or say("copy.name.none"))


def about_you(entries: Entries) -> list[tuple[str, str]]:
    patient = entries.patient
    rows = [
        (say("copy.row.name"), name(patient.get("name")) or say("copy.name.none")),
        (say("copy.row.born"), day(str(patient.get("birthDate") or ""))),
        (say("copy.row.number"), client_number(patient)),
    ]
    return [(title, words) for title, words in rows if words]


def who_saw(entries: Entries) -> Section:
    told = []
    for author in entries.all(entries.composition.get("author", [])):
        if author["resourceType"] not in ("PractitionerRole", "Practitioner"):
            continue
        is_role = author["resourceType"] == "PractitionerRole"
        person = (entries.get(author.get("practitioner")) or {}) if is_role else author
        role = listed([label(c) for c in author.get("code", ())]) if is_role else ""
        if who := name(person.get("name")):
            told.append(say("copy.who.line", name=who, role=role) if role else say("copy.who.no-role", name=who))
    blocks = [Text(upper_first(line)) for line in told] or [Text(say("copy.who.none"))]
    return Section("who", say("copy.who.title"), [*blocks])


def _guardians(entries: Entries) -> list[Json]:
    """Those who speak for a child, but for those who are known to have no parental responsibility."""
    if not _is_child(entries):
        return []
    found = [r for r in entries.of("RelatedPerson") if name(r.get("name"))]
    return [r for r in found if not any(word("guardian", c) == _NONE for c in r.get("relationship", ()))]


_NONE = "no parental responsibility"


def _is_child(entries: Entries) -> bool:
    born = str(entries.patient.get("birthDate") or "")
    seen = str(encounter(entries).get("period", {}).get("start") or "")
    if not (born[:4].isdigit() and seen[:4].isdigit()):
        return False
    years = int(seen[:4]) - int(born[:4])
    return years - (len(born) > 4 and seen[5:10] < born[5:10]) < CHILD


def _relation(person: Json) -> str:
    relations = [c for c in person.get("relationship", ()) if not word("guardian", c)]
    return ", ".join(words(c) for c in relations) or say("copy.to.speaks")
