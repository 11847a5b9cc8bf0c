"""A received resource cut to the shapes of the standard, so that whoever reads it can rely on them."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from bridge.fhir.tables import RESOURCE, Element, elements, is_resource
from bridge.shapes import Json

_WHOLE = ("integer", "positiveInt", "unsignedInt")


def shaped(resource: Any) -> Json | None:
    """A copy that holds only what R4 allows there, each value an object, a list, a text or a number as R4 says.

    What has another shape is left out; to say so is the checks' part. A type that R4 does not have keeps its
    name and its narrative. None where the value is no resource at all.
    """
    if not isinstance(resource, dict) or not isinstance(resource.get("resourceType"), str):
        return None
    type = resource["resourceType"]
    return {"resourceType": type, **_members(resource, type if is_resource(type) else "DomainResource")}


def _members(value: Json, type: str) -> Json:
    known = elements(type)
    found: Json = {}
    for name, given in value.items():
        element = known.get(name)
        if element is None:
            continue
        if element.many:
            items = [_item(g, element) for g in given] if isinstance(given, list | tuple) else []
            kept = [i for i in items if i is not None]
            if kept:
                found[name] = kept
        elif (kept_one := _item(given, element)) is not None:
            found[name] = kept_one
    return found


def _item(value: Any, element: Element) -> Any:
    if element.type == RESOURCE:
        return shaped(value)
    if not element.primitive:
        return _members(value, element.type) if isinstance(value, dict) else None
    if element.type == "boolean":
        return value if isinstance(value, bool) else None
    if element.type in (*_WHOLE, "decimal"):
        wanted = int if element.type in _WHOLE else int | float | Decimal
        return value if isinstance(value, wanted) and not isinstance(value, bool) else None
    return value if isinstance(value, str) else None
