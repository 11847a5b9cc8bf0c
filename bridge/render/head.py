"""The letter's head: from whom, to whom, which letter, and who the client is."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from bridge.fhir.in_force import label as not_in_force
from bridge.fhir.in_force import modified, ours
from bridge.fhir.letter_kind import RECORD
from bridge.fhir.own import word
from bridge.fhir.systems import OWN, system
from bridge.fhir.tell.administrative import escorted_by, nhs_number, tell_related_person, visit_time
from bridge.fhir.tell.words import address, day, label, moment, name, spelt, upper_first
from bridge.render.entries import Entries
from bridge.render.referral import receiver_lines, urgent_marks
from bridge.shapes import Json
from bridge.wording import say

_ISSUE = re.compile(r"(?P<letter>.*)/(?P<version>\d{1,9})(?P<draft>/draft)?")
NHS = "nhs-number"
NO_DOCTOR = ("none", "unknown", "abroad")


@dataclass(slots=True)
class Head:
    title: str
    marks: list[str]
    """What must be seen before anything else: draft, correction, entered in error."""
    sender: list[str]
    recipient: list[str]
    about: list[tuple[str, str]] = field(default_factory=list)
    """Visit, date, reference, version, approval."""
    client: list[tuple[str, str]] = field(default_factory=list)
    number: str = ""
    """The number of the visit, of the client where all visits are told, or the bundle's identifier."""
    footer: str = ""
    """One line that tells the pages of this letter from any other."""


def head(entries: Entries) -> Head:
    composition = entries.composition
    number = client_number(entries.patient) if entries.whole_record else ""
    number = number or visit_number(entries)
    version = _version(entries.bundle.get("identifier"))
    numbered = entries.signed and NHS in entries.region.client_numbers
    client = client_rows(entries.patient, entries.of("RelatedPerson"), numbered)
    referral = entries.ours and entries.kind == "referral"
    if referral or entries.whole_record:
        known = [line for line in family_doctor(entries) if line != say("doctor.not-recorded")]
        client.append((say("client.doctor"), "; ".join(known) or say("ears.not-recorded")))
    made = Head(
        title=composition.get("title") or label(composition.get("type")) or say("head.untitled"),
        marks=[*_marks(composition), *(urgent_marks(entries) if referral else ()), *_doubts(entries)],
        sender=_sender(entries),
        recipient=_recipient(entries, referral),
        about=[(k, v) for k, v in _about(entries, number, version) if v],
        client=client,
        number=number,
    )
    who = name(entries.patient.get("name"))
    born = entries.patient.get("birthDate")
    parts = [who, say("running.born", day=day(born)) if who and born else "", number]
    parts += [say("running.version", version=version)] if version else []
    made.footer = " · ".join(p for p in parts if p)
    return made


def encounter(entries: Entries) -> Json:
    """The visit that the document is about; none where it tells of several and names none."""
    visits = entries.of("Encounter")
    return entries.get(entries.composition.get("encounter")) or (visits[0] if len(visits) == 1 else {})


def client_number(patient: Json) -> str:
    """The clinic's own number of the client."""
    found = (i for i in patient.get("identifier", ()) if "MR" in _kinds(i))
    return next((str(i["value"]) for i in found if i.get("value")), "")


def _kinds(identifier: Json) -> set[str | None]:
    """`VN` for a visit's number, `MR` for a client's."""
    return {c.get("code") for c in identifier.get("type", {}).get("coding", ())}


def _recipient(entries: Entries, referral: bool) -> list[str]:
    if entries.whole_record:
        return [say("head.next")]
    return receiver_lines(entries) if referral else family_doctor(entries)


def visit_number(entries: Entries) -> str:
    """The practice's number of the visit, or else the identifier of the document."""
    for identifier in encounter(entries).get("identifier", ()):
        if "VN" in _kinds(identifier) and identifier.get("value"):
            return str(identifier["value"])
    for identifier in (entries.bundle.get("identifier", {}), entries.composition.get("identifier", {})):
        if identifier.get("value"):
            return str(identifier["value"])
    return str(entries.bundle.get("id", ""))


def _version(identifier: Json | None) -> str:
    found = _ISSUE.fullmatch(str((identifier or {}).get("value", "")))
    return found["version"] if found else ""


def _marks(composition: Json) -> Iterator[str]:
    status = composition.get("status")
    if status == "preliminary":
        yield say("mark.draft")
    if status == "entered-in-error":
        yield say("mark.error")
    for link in composition.get("relatesTo", ()):
        if link.get("code") == "replaces":
            version = _version(link.get("targetIdentifier"))
            yield say("mark.corrected", version=version) if version else say("mark.replaces")


def _doubts(entries: Entries) -> Iterator[str]:
    """One mark that names what in the document is not in force."""
    rest = (r for r in entries.resources if r is not entries.composition and (not ours(r) or modified(r)))
    found = [f"{r['resourceType']} ({said})" for r in rest if (said := not_in_force(r))]
    around = {k: v for k, v in entries.bundle.items() if k != "entry"}
    if modified(around) or modified(entries.composition):
        found.append(say("mark.document", state=say("state.unreadable")))
    if found:
        yield say("mark.not-in-force", what="; ".join(dict.fromkeys(found)))


def _sender(entries: Entries) -> list[str]:
    clinic = entries.get(entries.composition.get("custodian")) or {}
    if not clinic:
        return [n for n in (name(a.get("name")) for a in entries.all(entries.composition.get("author", []))
                            if a["resourceType"] == "Practitioner") if n] or [say("head.no-sender")]  # fmt: skip
    found = [clinic.get("name") or say("head.nameless-clinic"), *map(address, clinic.get("address", ()))]
    return [line for line in [*found, *reach(clinic)] if line]


def reach(clinic: Json) -> list[str]:
    """How to reach an organisation: phone with hours, then the rest."""
    points = clinic.get("telecom", ())
    rest = [p["value"] for p in points if p.get("system") != "phone" and p.get("value")]
    return [*phone_and_hours(clinic), *rest]


def phone_and_hours(clinic: Json) -> list[str]:
    points = clinic.get("telecom", ())
    hours = "; ".join(label(c["purpose"]) for c in clinic.get("contact", ()) if c.get("purpose"))
    phones = [p["value"] for p in points if p.get("system") == "phone" and p.get("value")]
    return [*(say("head.phone", number=phone) for phone in phones), *([hours] if hours else [])]


def family_doctor(entries: Entries) -> list[str]:
    """The family doctor's practice with its address, or that there is none or which is not known; in a whole record of
    ours also when one was named that is not known now."""
    found: list[str] = []
    for doctor in entries.patient.get("generalPractitioner", ()):
        identifier = doctor.get("identifier", {})
        answer = None
        if identifier.get("system") == OWN:
            answer = word("doctor", {"coding": [{"system": OWN, "code": identifier.get("value")}]})
        practice = entries.get(doctor)
        if answer in NO_DOCTOR:
            found.append(say(f"doctor.{answer}"))
            plain = label({"coding": [{"display": doctor.get("display", "")}]})
            found += [plain] if plain and plain.casefold() not in _PLAIN_ANSWERS else []
        elif practice:
            lines = _practice(practice)
            earlier = str(doctor.get("display", "")) if entries.whole_record else ""
            found += [f"{earlier}: {lines[0]}" if earlier else lines[0], *lines[1:]]
        elif doctor.get("display"):
            found.append(str(doctor["display"]))
    return found or [say("doctor.not-recorded")]


_PLAIN_ANSWERS = {"registered with no family doctor", "family doctor not known", "family doctor abroad"}


def _practice(practice: Json) -> list[str]:
    if practice["resourceType"] != "Organization":
        return [name(practice.get("name")) or say("doctor.nameless")]
    doctors = [spelt(c["name"]) for c in practice.get("contact", ()) if c.get("name")]
    found = [*doctors, practice.get("name", ""), *map(address, practice.get("address", ()))]
    return [line for line in found if line] or [say("doctor.key-only")]


def _about(entries: Entries, number: str, version: str) -> Iterator[tuple[str, str]]:
    composition, visit = entries.composition, encounter(entries)
    if entries.whole_record:
        yield from _visits(entries)
        visit = {}
    attended = [label(t) for t in visit.get("type", ()) if word("attendance", t) != "attended"]
    yield say("about.visit"), ", ".join([p for p in (not_in_force(visit), visit_time(visit), *attended) if p])
    yield say("about.came-with"), escorted_by(visit)
    yield (
        say("about.written" if entries.whole_record or entries.kind == RECORD else "about.letter"),
        moment(composition.get("date", "")),
    )
    yield say("about.reference"), say("about.issue", number=number, version=version) if version else number
    for attester in composition.get("attester", ()):
        party = entries.get(attester.get("party")) or {}
        who = name(party.get("name")) or str(attester.get("party", {}).get("display", ""))
        when = moment(attester.get("time", ""))
        yield say("about.approved"), ", ".join(p for p in (say("about.by", name=who) if who else "", when) if p)


def _visits(entries: Entries) -> Iterator[tuple[str, str]]:
    """How many visits are told of, and from which day to which."""
    days = sorted(str(v["period"]["start"]) for v in entries.of("Encounter") if v.get("period", {}).get("start"))
    if days:
        first, last = day(days[0]), day(days[-1])
        told = say("about.visits.of", number=len(days), first=first, last=last) if len(days) > 1 else first
        yield say("about.visits" if len(days) > 1 else "about.visit"), told


def client_rows(patient: Json, related: list[Json], numbered: bool) -> list[tuple[str, str]]:
    """What tells the client from anybody else: label and words; what is missing says so.

    `numbered`: the NHS number is one of the things that must not be missing.
    """
    names: dict[str, list[str]] = {}
    for human in patient.get("name", ()):
        names.setdefault(_NAMES.get(human.get("use", ""), "name"), []).append(spelt(human))
    rows = [(key, "; ".join(names.get(key, ()))) for key in ("name", "usual-name", "former-name")]
    gender = str(patient.get("gender") or "")
    rows = [(key, value) for key, value in rows if value or key == "name"] + [
        ("born", day(patient.get("birthDate", ""))),
        ("sex", say(f"sex.{gender}") if gender in _GENDERS else upper_first(gender)),
        ("address", "; ".join(map(address, patient.get("address", ())))),
    ]
    number = nhs_number(patient)
    if number or numbered:
        rows.append(("nhs-number", f"{number[0]} ({number[1]})" if number else ""))
    rows = [(key, value or say("ears.not-recorded")) for key, value in rows]
    return [(say(f"client.{key}"), value) for key, value in [*rows, *_more(patient, related)] if value]


_GENDERS = ("male", "female", "other", "unknown")
_NAMES = {"usual": "usual-name", "nickname": "usual-name", "old": "former-name", "maiden": "former-name"}
"""What a name is for, by HumanName.use; any other is the name."""


def _more(patient: Json, related: list[Json]) -> Iterator[tuple[str, str]]:
    for identifier in patient.get("identifier", ()):
        value, assigner = str(identifier.get("value", "")), str(identifier.get("assigner", {}).get("display", ""))
        if "MR" in _kinds(identifier):
            yield "number", value
        elif assigner:
            yield "other-number", f"{value} ({assigner})"
    points = patient.get("telecom", ())
    yield "phone", "; ".join(p["value"] for p in points if p.get("system") == "phone" and p.get("value"))
    yield "email", "; ".join(p["value"] for p in points if p.get("system") == "email" and p.get("value"))
    yield "language", "; ".join(label(c.get("language")) for c in patient.get("communication", ()))
    for contact in patient.get("contact", ()):
        relations = ", ".join(label(r) for r in contact.get("relationship", ()))
        phones = [p["value"] for p in contact.get("telecom", ()) if p.get("value")]
        said = [f"{spelt(contact.get('name', {}))} ({relations})" if relations else spelt(contact.get("name", {}))]
        yield "contact", ", ".join(p for p in [*said, *phones] if p)
    for person in related:
        yield "speaks", tell_related_person(person).removesuffix(".")


def record_hashes(entries: Entries) -> list[str]:
    """SHA-256 of the records behind the document."""
    found = []
    for provenance in entries.of("Provenance"):
        for entity in provenance.get("entity", ()):
            identifier = entity.get("what", {}).get("identifier", {})
            if identifier.get("system") == system("sha-256") and identifier.get("value"):
                found.append(str(identifier["value"]))
    return found
