"""A received resource cut to the shapes of the standard, so that whoever reads it can rely on them."""

from __future__ import annotations

from decimal import Decimal
from itertools import repeat
from typing import Any

from bridge.fhir.tables import RESOURCE, Element, elements, is_resource
from bridge.shapes import Json

_BOOL, _WHOLE, _NUMBER = bool, (int,), (int, float, Decimal)
_PRIMITIVES: dict[str, Any] = {"boolean": _BOOL, "decimal": _NUMBER, "integer": _WHOLE, "positiveInt": _WHOLE,
                               "unsignedInt": _WHOLE}  # fmt: skip
"""Python types of the values; every other primitive is a text."""


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
            items = map(_item, given, repeat(element)) if isinstance(given, list | tuple) else ()
            if kept := [item for item in items if item is not None]:
                found[name] = kept
        elif (kept_one := _item(given, element)) is not None:
            found[name] = kept_one
    return found


def _item(value: Any, element: Element) -> Any:
    if element.primitive:
        if isinstance(value, str):
            return None if element.type in _PRIMITIVES else value
        wanted = _PRIMITIVES.get(element.type)
        fits = wanted is not None and isinstance(value, wanted) and (wanted is _BOOL or not isinstance(value, bool))
        return value if fits else None
    if element.type == RESOURCE:
        return shaped(value)
    return _members(value, element.type) if isinstance(value, dict) else None
