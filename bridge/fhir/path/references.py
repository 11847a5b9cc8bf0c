"""resolve(): what references lead to. Source: https://hl7.org/fhir/R4/fhirpath.html#functions.

A resource that is not at hand is neither there nor not there: only its type is known, if the reference tells it.
"""

from __future__ import annotations

import re

from bridge.fhir import tables
from bridge.fhir.path.items import AWAY, Items, Run, type_of
from bridge.fhir.path.undecided import UndecidedError

_LITERAL = re.compile(r"(?:^|/)([A-Z][A-Za-z]+)/[A-Za-z0-9.-]{1,64}(?:/_history/[A-Za-z0-9.-]{1,64})?$")


def resolved(items: Items, run: Run) -> Items:
    """The resources; a fragment that leads nowhere is left out. Raises UndecidedError for what is not at hand."""
    found: Items = []
    for item in resolved_to_type(items, run):
        if item[0] is AWAY:
            raise UndecidedError
        found.append(item)
    return found


def resolved_to_type(items: Items, run: Run) -> Items:
    """The same where only the type of each is asked: one not at hand counts by the type in its reference."""
    found: Items = []
    run.spend(len(items))
    for value, type, _ in items:
        told = None
        if isinstance(value, dict):
            reference, told = value.get("reference"), value.get("type")
            if type != "Reference":
                continue
        else:
            reference = value
        if not isinstance(reference, str):
            if told is not None:
                _by_type(found, told)
            continue
        resource = run.env.resolve(reference, run.env.resource)
        if isinstance(resource, dict):
            found.append((resource, type_of(resource), None))
        elif reference[:1] != "#":
            literal = _LITERAL.search(reference)
            _by_type(found, literal[1] if literal else told)
    return found


def _by_type(found: Items, type: object) -> None:
    if not isinstance(type, str) or not tables.is_resource(type):
        raise UndecidedError
    found.append((AWAY, type, None))
