"""Parts of a resource by a short path (`dosage.text`), where every list on the way has one item."""

from __future__ import annotations

from typing import Any

from bridge.fhir.tables import elements
from bridge.shapes import Json


def look(found: Any, path: str) -> Any:
    """What stands there; None where nothing does, or where a list on the way has not exactly one item."""
    first, _, rest = path.partition(".")
    if not isinstance(found, dict):
        return None
    found = found.get(first)
    if not rest:
        return found
    if isinstance(found, list):
        found = found[0] if len(found) == 1 else None
    return look(found, rest)


def put(found: Json, type: str, path: str, value: Any) -> None:
    """Sets it, with what is on the way, in a resource that is being read."""
    first, _, rest = path.partition(".")
    if not rest:
        found[first] = value
        return
    element = elements(type)[first]
    inner = found.setdefault(first, [{}] if element.many else {})
    put(inner[0] if element.many else inner, element.type, rest, value)


def items(value: Any) -> list[Any]:
    """The items of a list, or the one value, without what is empty."""
    found = value if isinstance(value, list) else [value]
    return [item for item in found if item is not None and item != {}]
