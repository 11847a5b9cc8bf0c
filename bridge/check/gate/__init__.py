"""The fast gate: yes means that the careful walk would find nothing; no means that it has to look.

Schemas are compiled, type by type, once so much was met that it pays; a short run never waits for them.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import count
from typing import Any, NamedTuple

from bridge.check.gate import plan
from bridge.check.gate.bundle import holds_together, leads_well
from bridge.check.gate.contents import holds_contents
from bridge.check.gate.plan import Seen
from bridge.check.invariants import check_invariants
from bridge.check.node import MAX_ITEMS, OUTERMOST, Node
from bridge.check.xhtml_plain import plain_narratives
from bridge.fhir import tables
from bridge.issues import Issue
from bridge.shapes import Json

WORTH = 500
"""Resources that are walked before any schema is compiled: less than that is walked sooner than compiled."""
_met = count()
_ready: dict[str, Callable[[Any], bool]] = {}


class Verdict(NamedTuple):
    """What the gate can say of a resource or Bundle."""

    issues: list[Issue] | None
    """Everything that the careful walk would find; None where that is not certain."""
    certain: frozenset[int]
    """Where it is not: ids (of Python) of the entries' resources in which the walk would find nothing but dom-6."""


DOUBT = Verdict(None, frozenset())


def judge(data: Any) -> Verdict:
    """Certain are resources in which nothing is wrong, and those that only lack a text to read (dom-6)."""
    seen = look(data)
    if seen is None and not (isinstance(data, dict) and data.get("resourceType") == "Bundle"):
        return DOUBT
    if data["resourceType"] == "Bundle":
        return _judge_bundle(data, seen is not None)
    if seen and all(map(leads_well, seen.references)) and plain_narratives(seen.narratives):
        return Verdict([] if "text" in data else _silent(data, data["resourceType"]), frozenset())
    return DOUBT


def _judge_bundle(bundle: Json, right: bool) -> Verdict:
    entries = bundle.get("entry", [])
    if not isinstance(entries, list) or len(entries) > MAX_ITEMS:
        return DOUBT
    resources: list[Any] = [entry.get("resource") if isinstance(entry, dict) else None for entry in entries]
    met = [None if _is_bundle(resource) else look(resource) for resource in resources]
    all_met = [entry for entry in met if entry is not None]
    whole = right and len(all_met) == len(entries) and holds_together(bundle, all_met)
    if whole and plain_narratives([text for entry in all_met for text in entry.narratives]):
        silent = [(n, r) for n, r in enumerate(resources) if "text" not in r]
        issues = [i for n, r in silent for i in _silent(r, f"Bundle.entry[{n}].resource")]
        return Verdict(issues, frozenset())
    pairs = zip(resources, met, strict=True)
    return Verdict(None, frozenset(id(r) for r, seen in pairs if seen and plain_narratives(seen.narratives)))


def _is_bundle(resource: Any) -> bool:
    return isinstance(resource, dict) and resource.get("resourceType") == "Bundle"


def _silent(resource: Json, path: str) -> list[Issue]:
    """What is told of a resource without a narrative, if anything."""
    return list(check_invariants([Node(path, resource["resourceType"], resource, OUTERMOST, resource)]))


def look(resource: Any) -> Seen | None:
    """What was met in a resource that is certainly right by itself; None where it must be looked at with care."""
    if not _is_valid(resource):
        return None
    seen = Seen([], [])
    if not plan.look(resource, resource["resourceType"], OUTERMOST, resource, seen):
        return None
    return seen if "contained" not in resource or holds_contents(resource, seen, _is_valid) else None


def _is_valid(resource: Any) -> bool:
    type = resource.get("resourceType") if isinstance(resource, dict) else None
    if not isinstance(type, str):
        return False
    is_valid = _ready.get(type) or _made_ready(type)
    try:
        return is_valid is not None and is_valid(resource)
    except ValueError:
        return False


def _made_ready(type: str) -> Callable[[Any], bool] | None:
    """The test of a type's schema once that is worth it; None before, and for what is no type of resource."""
    if not tables.is_resource(type):
        return None
    if next(_met) < WORTH:
        return None
    return _ready.setdefault(type, _validator(type).is_valid)


def _validator(type: str) -> Any:
    import jsonschema_rs

    from bridge.check.gate.schema import WHOLE, WHOLE_NUMBER, schema

    return jsonschema_rs.validator_for(
        schema(type),
        registry=jsonschema_rs.Registry([(WHOLE, WHOLE_NUMBER)]),
        pattern_options=jsonschema_rs.RegexOptions(),
    )
