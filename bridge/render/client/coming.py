"""The box at the top: who will see the client, the next visit, and what the family doctor is asked."""

from __future__ import annotations

from bridge.fhir.plain import plain_pairs
from bridge.fhir.tell import ear
from bridge.fhir.tell.observation import kind_of
from bridge.fhir.tell.referral import is_referral
from bridge.fhir.tell.words import sentence
from bridge.render.entries import Entries
from bridge.render.page import Block, Line, Lines, Section
from bridge.render.sections import empty_code, section_of
from bridge.shapes import Json
from bridge.wording import say


def coming(entries: Entries) -> Section | None:
    """What comes next, the most urgent first; None where nothing is recorded of it."""
    orders = [r for r in entries.resources if r["resourceType"] in ("ServiceRequest", "Task")]
    sent, asked = ([r for r in orders if is_referral(r) == one] for one in (True, False))
    planned = [r for r in entries.resources if r["resourceType"] == "CarePlan" or kind_of(r) == "no-follow-up"]
    blocks: list[Block] = [
        *_told("referral", sent),
        *_told("follow-up", planned),
        *(_told("doctor", asked) or _nothing(entries)),
    ]
    return Section("coming", say("copy.next.title"), blocks, frame="box") if blocks else None


def _told(what: str, resources: list[Json]) -> list[Block]:
    told: list[Line] = []
    for resource in resources:
        side = ear(resource) if what == "doctor" else None
        words = " ".join(sentence(words) for _, words in plain_pairs(resource))
        told += [Line(say(f"copy.think.{side}") if side else "", words)] if words else []
    return [Lines(told, say(f"copy.next.{what}"))] if told else []


def _nothing(entries: Entries) -> list[Block]:
    section = section_of(entries, "actions") or {}
    if empty_code(section) != "nilknown":
        return []
    return [Lines([Line("", say("copy.next.doctor.nothing"))], say("copy.next.doctor"))]
