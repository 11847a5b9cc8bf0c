"""What keeps a bundle from being read back: a state that we never write, and entries that no reader used."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from bridge.fhir.in_force import modifiers, ours, statuses
from bridge.fhir.own import first_word
from bridge.fhir.tell.clinical import outcome_fits
from bridge.fhir.tell.observation import kind_of, subject
from bridge.issues import Issue, Where, issue
from bridge.nothing_words import says_nothing
from bridge.receive.index import Index

Json = dict[str, Any]

_ABOUT = ("subject", "patient", "for")
"""Elements that name whom a resource is about."""


def states(bundle: Json) -> Iterator[Issue]:
    """X103 for each place that may turn a meaning round in a way the visit has no field for."""
    for place in modifiers(bundle, "Bundle"):
        yield issue("X103", "This carries a modifier that a visit has no place for.", Where(path=place), cause="X103")
    for number, entry in enumerate(bundle.get("entry", ())):
        resource = entry.get("resource")
        problem = _state(resource) if isinstance(resource, dict) else ""
        if problem:
            message = f"This {resource.get('resourceType')} {problem}."
            yield issue("X103", message, Where(path=f"Bundle.entry[{number}].resource"), cause=f"X103:{message}")


def _state(resource: Json) -> str:
    type = resource.get("resourceType")
    if not ours(resource):
        told = ", ".join(f"“{s[:60]}”" for s in statuses(resource) if s)
        return f"is in a state that visit-bridge never writes ({told})" if told else "does not say in which state it is"
    if type == "Procedure" and not outcome_fits(resource):
        return f"says “{resource.get('status')}”, and its outcome says otherwise"
    if type == "Communication":
        nothing = says_nothing("advice", str(resource.get("topic", {}).get("text", "")))
        if nothing != (resource.get("status") == "not-done"):
            return "says both that the advice was given and that it was not"
    if type == "Encounter":
        attended = first_word("attendance", resource.get("type", ())) == "attended"
        if attended != (resource.get("status") == "finished"):
            return f"says “{resource.get('status')}”, and the attendance says otherwise"
    return ""


def about_others(index: Index) -> Iterator[Issue]:
    """X110 for each resource of a visit that is about another client than the visit."""
    client = next(index.of_type("Patient"))
    for resource in index.all:
        for key in _ABOUT:
            if key in resource and index.addresses.find(resource[key]) is not client:
                where = Where(path=f"{index.addresses.path(resource)}.{key}")
                message = f"This {resource['resourceType']} is about another client than its visit."
                yield issue("X110", message, where, cause="X110")


def left_over(bundle: Json, used: set[int]) -> Iterator[Issue]:
    """X104 for each entry that did not become part of a visit; what a server says of its own search is none."""
    for number, entry in enumerate(bundle.get("entry", ())):
        resource = entry.get("resource")
        if id(resource) in used or entry.get("search", {}).get("mode") == "outcome":
            continue
        kind = resource.get("resourceType") if isinstance(resource, dict) else "entry"
        about = subject(resource) if kind == "Observation" and kind_of(resource) else ""
        named = f"{kind} ({about[:60]})" if about else str(kind)[:60]
        message = f"This {named} has no place in the visit, so it would be lost."
        yield issue("X104", message, Where(path=f"Bundle.entry[{number}]"), cause=f"X104:{named}")
