"""The resource that an act of ours stands for."""

from __future__ import annotations

from typing import Any

from bridge.cda.context import Context
from bridge.cda.entries.paths import put
from bridge.cda.entries.place import MAX_DEPTH
from bridge.cda.entries.places import place_of
from bridge.cda.entries.seen import Seen, type_in
from bridge.cda.entries.tables import UNKNOWN, Row, Status, kind_of, rows_of, statuses
from bridge.cda.values import identifier_of, resource_id
from bridge.cda.xml import Node
from bridge.fhir.tables import is_resource
from bridge.shapes import Json


def resource_of(found: Node, context: Context) -> Json | None:
    """The resource with all that the act itself says, without a narrative; None for an act that is none of ours.

    What stands beside it (`bridge.cda.rest`) is not looked at. Never raises for what it is given.
    """
    type = type_in(found)
    if not is_resource(type):
        return None
    seen = Seen(found)
    resource: Json = {"resourceType": type}
    ids = seen.parts["id"]
    if ids and (own := resource_id(ids[0])):
        resource["id"] = own
    if identifiers := [identifier for id in ids[1:] if (identifier := identifier_of(id))]:
        resource["identifier"] = identifiers
    return {**resource, **_told(type, seen, context, 0)}


def _told(type: str, seen: Seen, context: Context, depth: int) -> Json:
    told: Json = {}
    for path, rows in statuses(type).items():
        if (status := _status(rows, seen, kind_of(type).mood)) is not None:
            put(told, type, path, status.value)
    for row in rows_of(type):
        value = _nested(row, seen, context, depth) if row.place == "nested" else place_of(row).read(seen, row, context)
        if value is None:
            continue
        if row.element is None:
            told.update(value)
        else:
            put(told, type, *_under(row, value))
    return told


def _under(row: Row, value: Any) -> tuple[str, Any]:
    """Where a value goes; a list of what has one person each is that of the items."""
    first, _, inner = row.path.partition(".")
    listed = inner and isinstance(value, list) and row.element is not None and not row.element.many
    return (first if listed else row.path), value


def _nested(row: Row, seen: Seen, context: Context, depth: int) -> Any:
    if row.element is None or depth >= MAX_DEPTH:
        return None
    type = row.element.type
    return [_told(type, Seen(inner), context, depth + 1) for inner in seen.nested[type]] or None


def _status(rows: tuple[Status, ...], seen: Seen, usual: str) -> Status | None:
    """The row of a status by the statusCode, of an intent by the mood."""
    place, mood = seen.first("statusCode"), seen.found.get("moodCode") or usual
    code = None if place is None else UNKNOWN if place.get("nullFlavor") else place.get("code")
    for row in rows:
        if (row.code == code if row.code else bool(row.mood)) and row.mood in ("", mood):
            return row
    return None
