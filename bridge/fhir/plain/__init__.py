"""A fact in plain words, from its resource alone: the client's own copy and its sections' narratives are made of it.

What has no plain words is not told here; the copy says that it is in the record and may be asked for.
"""

from __future__ import annotations

from collections.abc import Iterable

from bridge.fhir.in_force import label as not_in_force
from bridge.fhir.plain.ahead import advice, asked, follow_up, referral
from bridge.fhir.plain.done import beside, procedure, product
from bridge.fhir.plain.seen import NOTHING, Pair, seen
from bridge.fhir.plain.thought import condition, no_impression
from bridge.fhir.tell import ear
from bridge.fhir.tell.around import is_past_event
from bridge.fhir.tell.by_ear import Group, in_groups, stage
from bridge.fhir.tell.observation import kind_of
from bridge.fhir.tell.referral import is_referral
from bridge.fhir.tell.words import sentence
from bridge.shapes import Json
from bridge.wording import say

__all__ = ["Pair", "merged", "plain_by_ear", "plain_line", "plain_pairs"]


def plain_pairs(resource: Json) -> list[Pair]:
    """What it is about, which may be empty, and what is said of it; nothing for what has no plain words, nor for what
    is from before this visit, which must not read as done or thought today."""
    if not_in_force(resource) or is_past_event(resource):
        return []
    return [pair for pair in _pairs(resource) if pair != NOTHING and pair[1]]


def plain_by_ear(resources: Iterable[Json]) -> list[Group]:
    """The facts under both ears, right ear, left ear, before and after the work; then what has no side."""
    places: dict[tuple[str, str], list[Pair]] = {}
    for resource in resources:
        places.setdefault((ear(resource) or "", stage(resource)), []).extend(plain_pairs(resource))
    return in_groups((*place, pair) for place, pairs in places.items() for pair in merged(pairs))


def merged(pairs: Iterable[Pair]) -> list[Pair]:
    """Each subject once, with all its sentences behind it; what has no subject stays apart."""
    found: dict[Pair, list[str]] = {}
    for about, words in pairs:
        told = found.setdefault((about, "" if about else words), [])
        told += [words] if words not in told else []
    return [(about, " ".join(told)) for (about, _), told in found.items()]


def plain_line(resource: Json) -> str:
    """All that is said of it in one line, with its ear; empty for what has no plain words."""
    said = " ".join(sentence(f"{about}: {words}" if about else words) for about, words in plain_pairs(resource))
    side, when = ear(resource), stage(resource)
    where = say(".".join(filter(None, ("group", side or "", when)))) if side else ""
    return f"{where}: {said}" if said and where else said


def _pairs(resource: Json) -> list[Pair]:
    type = resource["resourceType"]
    if type == "Observation":
        kind = kind_of(resource)
        if kind == "no-impression":
            return [("", no_impression(resource))]
        if kind == "no-follow-up":
            return [("", say("copy.next.follow-up.none"))]
        return [seen(resource), beside(resource)]
    if type == "Procedure":
        return procedure(resource)
    if type in ("MedicationAdministration", "MedicationStatement"):
        return [product(resource)]
    if type == "Condition":
        return [("", condition(resource))]
    if type == "Communication":
        return [("", advice(resource))]
    if type == "CarePlan":
        return [("", line) for line in follow_up(resource)]
    if type in ("ServiceRequest", "Task"):
        return [("", line) for line in (referral(resource) if is_referral(resource) else asked(resource))]
    return []
