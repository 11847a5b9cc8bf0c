"""The resources of all visits of one client, each once, with the visits that tell it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from bridge.build import Options, resources
from bridge.build.context import Built, Context
from bridge.build.organization import build_clinic
from bridge.build.patient import family_doctor_id
from bridge.build.provenance import build_provenance
from bridge.fhir.ids import reference
from bridge.fhir.tell.words import day
from bridge.one_client import as_of, newest_client
from bridge.visit import Visit
from bridge.wording import say


@dataclass(slots=True)
class Told:
    """A resource with the visits that tell it, oldest first."""

    built: Built
    visits: list[Visit] = field(default_factory=list)
    entry: bool = True
    """False where only the narrative still tells it, because a newer one took its place."""


def gather(visits: Sequence[Visit], namespace: UUID, zone: ZoneInfo, options: Options) -> tuple[list[Told], Context]:
    """Everything that the visits, oldest first, tell, and the context of the newest.

    The client is told as all visits together know them; of who and what else stays the same from visit to visit,
    the newest facts win, member by member. A family doctor who is "not known" now and was known before is told as
    both.
    """
    client = newest_client(visits)
    found: dict[str, Told] = {}
    doctors: list[Context] = []
    for visit in visits:
        context = resources(visit.model_copy(update={"client": as_of(client, visit)}), namespace, zone, options)
        build_provenance(context, "ips")
        for built in context.built:
            told = found.setdefault(built.id, Told(built))
            told.visits.append(visit)
            told.built.resource.update(built.resource)
        doctors += [context] if visit.family_doctor else []
    _earlier_doctor(doctors, found)
    _own_clinic(context, found)
    return list(found.values()), context


def _earlier_doctor(doctors: Sequence[Context], found: dict[str, Told]) -> None:
    """Beside "not known", the practice that the newest visit before named, if that is what it said, and when.

    That the client knew it no more takes nothing back; "none" and "abroad" do.
    """
    said = [(c, c.visit.family_doctor.answer) for c in reversed(doctors) if c.visit.family_doctor]
    before = next((one for one in said if one[1] != "unknown"), None)
    if before is None or before is said[0] or before[1] != "known":
        return
    context, patient = before[0], found[before[0].ids.client(before[0].visit.client)]
    named = say("doctor.named-at", day=day(context.visit.start))
    patient.built.resource["generalPractitioner"].append({**reference(family_doctor_id(context)), "display": named})


def _own_clinic(context: Context, found: dict[str, Told]) -> None:
    """Whoever keeps the record is told of, though only others saw the client."""
    if context.own is not None:
        own = replace(context, visit=context.visit.model_copy(update={"clinic": context.own}), built=[])
        built = build_clinic(own)
        if built is not None:
            found.setdefault(built.id, Told(built, [context.visit]))


def point_to(told: Sequence[Told], instead: dict[str, str]) -> None:
    """Makes every reference to a resource that is gone one to what stands in its place; to nothing, where "" does."""
    moved = {f"urn:uuid:{old}": f"urn:uuid:{new}" if new else "" for old, new in instead.items()}
    now = frozenset(moved.values())
    for one in told:
        _point(one.built.resource, moved, now)


def _point(node: Any, moved: dict[str, str], now: frozenset[str]) -> None:
    if isinstance(node, list):
        for item in node:
            _point(item, moved, now)
        if any(_reference(item) in now for item in node):
            node[:] = [item for place, item in enumerate(node) if _reference(item) != "" and item not in node[:place]]
    elif isinstance(node, dict):
        if (instead := moved.get(_reference(node) or "")) is not None:
            node["reference"] = instead
        for value in node.values():
            _point(value, moved, now)


def _reference(node: Any) -> str | None:
    found = node.get("reference") if isinstance(node, dict) else None
    return found if isinstance(found, str) else None
