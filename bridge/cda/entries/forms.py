"""One value of FHIR as one `value` of CDA, by its data type, and back."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

from bridge.cda.values import (
    bl,
    cd,
    coding,
    coding_of,
    concept_of,
    identifier_of,
    ii,
    is_interval,
    ivl_ts,
    period_of,
    pq,
    quantity_of,
    st,
    text_of,
    time_of,
    ts,
    value_of,
)
from bridge.cda.xml import Node, node, type_of, typed

TEXTS = frozenset({"string", "markdown", "code", "uri", "url", "canonical", "id", "oid", "uuid"})
MOMENTS = frozenset({"date", "dateTime", "instant"})
INTEGERS = frozenset({"integer", "positiveInt", "unsignedInt"})
QUANTITIES = frozenset({"Quantity", "Age", "Duration", "Count", "Distance", "SimpleQuantity"})

OF_TYPE = {
    "CD": "CodeableConcept",
    "PQ": "Quantity",
    "IVL_PQ": "Quantity",
    "INT": "integer",
    "ST": "string",
    "BL": "boolean",
    "TS": "dateTime",
    "IVL_TS": "Period",
}
"""The data type of FHIR that an Observation's value has, by its `xsi:type`."""


def form(type: str, value: Any) -> Node | None:
    """A value of a data type; None for a type that CDA has no value for, or for what is not shaped as one."""
    if isinstance(value, dict):
        return _structured(type, value)
    if isinstance(value, bool):
        return bl("value", value) if type == "boolean" else None
    if isinstance(value, int) and type in INTEGERS:
        return typed(node("value", value=str(value)), "INT")
    if isinstance(value, int | float | Decimal) and type == "decimal":
        return typed(node("value", value=str(value)), "REAL")
    if isinstance(value, str) and value:
        return ts("value", value, "TS") if type in MOMENTS else st("value", value) if type in TEXTS else None
    return None


def _structured(type: str, value: Any) -> Node | None:
    if type == "CodeableConcept":
        return cd("value", value, "CD")
    if type == "Coding":
        return coding("value", value, "CD")
    if type in QUANTITIES:
        return pq("value", value, "PQ")
    if type == "Period":
        return ivl_ts("value", value, "IVL_TS")
    if type == "Annotation":
        return st("value", value["text"]) if isinstance(value.get("text"), str) else None
    if type == "Identifier":
        made = ii("value", value)
        return None if made is None else typed(made, "II")
    return None


def _annotation(found: Node) -> Any:
    text = text_of(found)
    return {"text": text} if text else None


def _period(found: Node) -> Any:
    return period_of(found) if is_interval(found) else None


_BACK: dict[str, Callable[[Node], Any]] = {
    "CodeableConcept": concept_of,
    "Coding": coding_of,
    "Annotation": _annotation,
    "Identifier": identifier_of,
    "Period": _period,
    **dict.fromkeys(QUANTITIES, quantity_of),
    **dict.fromkeys(MOMENTS, time_of),
    **dict.fromkeys({*TEXTS, *INTEGERS, "boolean", "decimal"}, value_of),
}
_FITTING = {
    **dict.fromkeys(("CodeableConcept", "Coding"), ("CD", "CE", "CV")),
    **dict.fromkeys(QUANTITIES, ("PQ", "IVL_PQ")),
    **dict.fromkeys(MOMENTS, ("TS",)),
    **dict.fromkeys({*TEXTS, "Annotation"}, ("ST",)),
    **dict.fromkeys(INTEGERS, ("INT",)),
    "boolean": ("BL",),
    "decimal": ("REAL", "INT"),
    "Identifier": ("II",),
    "Period": ("IVL_TS",),
}


def formed(type: str, found: Node) -> Any:
    """The value of a data type that a `value` of CDA says; None where its type does not fit."""
    return _BACK[type](found) if type_of(found) in _FITTING.get(type, ()) else None
