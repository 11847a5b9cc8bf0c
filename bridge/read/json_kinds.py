"""What a JSON file holds: visits, records for a layout, or FHIR."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Literal

from bridge.read.json_stream import Cursor, JsonError, open_json

JsonKind = Literal["visits", "records", "object", "fhir", "fhir lines"]


def kind_of_json(path: Path) -> JsonKind:
    """Told by the first object of the file."""
    with open_json(path) as stream:
        cursor = Cursor(stream)
        listed = cursor.take("[")
        if cursor.peek() != "{":
            return "records"
        try:
            first = cursor.value().data
            more = cursor.peek() == "{"
        except JsonError:
            stream.seek(0)
            head = stream.read(1 << 16)
            return "fhir" if "resourceType" in head or '"resource"' in head else "records"
    if "resourceType" in first:
        return "fhir lines" if more and not listed else "fhir"
    if looks_like_visit(first):
        return "visits"
    if listed or more or any(_objects(v) for v in first.values()):
        return "records"
    return "object"


def _objects(value: Any) -> bool:
    return isinstance(value, list) and any(isinstance(v, dict) for v in value)


def looks_like_visit(data: Mapping[str, Any]) -> bool:
    """Whether most names of an object, and of the client in it, are those of a visit."""
    from bridge.visit import Visit
    from bridge.visit.people import Client

    client = data.get("client")
    inner = _mostly(client, frozenset(Client.model_fields)) if isinstance(client, Mapping) else False
    return _mostly(data, frozenset(Visit.model_fields)) and (inner or "client" not in data)


def _mostly(data: Mapping[str, Any], names: frozenset[str]) -> bool:
    return sum(name in names for name in data) * 2 > len(data)
