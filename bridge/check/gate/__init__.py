"""The fast gate: yes means that the careful walk would find nothing; no means that it has to look.

A type's schema is compiled when the type has been met often enough to pay for it, so a short run never waits for it.
"""

from __future__ import annotations

import re
from collections import Counter
from functools import cache
from typing import Any

from bridge.check.gate import plan
from bridge.check.gate.bundle import holds_together
from bridge.check.gate.plan import Seen
from bridge.check.node import OUTERMOST
from bridge.fhir import tables

WORTH = 30
"""Resources of a type that are walked before its schema is compiled: about the cost of compiling it."""
_LITERAL = re.compile(
    r"(?:https?://[^\s#?|]+/)?([A-Z][A-Za-z]+)/[A-Za-z0-9\-.]{1,64}"
    r"|urn:uuid:[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}"
)
_met: Counter[str] = Counter()


def passes(data: Any) -> bool:
    """Whether a resource or Bundle is certainly right."""
    seen = look(data)
    if seen is None:
        return False
    if data["resourceType"] != "Bundle":
        return all(_leads_well(*link) for link in seen.references)
    entries = [look(entry.get("resource")) for entry in data.get("entry", ())]
    whole = [entry for entry in entries if entry is not None]
    return len(whole) == len(entries) and holds_together(data, whole)


def look(resource: Any) -> Seen | None:
    """What was met in a resource that is certainly right by itself; None where it must be looked at with care."""
    type = resource.get("resourceType") if isinstance(resource, dict) else None
    if not isinstance(type, str) or not tables.is_resource(type):
        return None
    _met[type] += 1
    if _met[type] <= WORTH:
        return None
    try:
        if not _validator(type).is_valid(resource):
            return None
    except ValueError:
        return None
    seen = Seen([], [])
    return seen if plan.look(resource, type, OUTERMOST, resource, seen) else None


def _leads_well(reference: str, targets: frozenset[str]) -> bool:
    found = _LITERAL.fullmatch(reference)
    if found is None:
        return False
    type = found[1]
    return type is None or (tables.is_resource(type) and (not targets or type in targets or "Resource" in targets))


@cache
def _validator(type: str) -> Any:
    import jsonschema_rs

    from bridge.check.gate.schema import WHOLE, WHOLE_NUMBER, schema

    return jsonschema_rs.validator_for(
        schema(type),
        registry=jsonschema_rs.Registry([(WHOLE, WHOLE_NUMBER)]),
        pattern_options=jsonschema_rs.RegexOptions(),
    )
