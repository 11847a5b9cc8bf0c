"""Thresholds of hearing out of a document's Observations."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from bridge.ear_words import Ear, Stage
from bridge.fhir.in_force import label as not_in_force
from bridge.fhir.own import word
from bridge.fhir.tell import ear as ear_of
from bridge.fhir.tell.observation import kind_of, no_response, parts
from bridge.fhir.thresholds import threshold_ear
from bridge.shapes import Json

FREQUENCIES = (125, 250, 500, 750, 1000, 1500, 2000, 3000, 4000, 5000, 6000, 8000)
LEAST, MOST = Decimal(-20), Decimal(130)
"""dB HL that an audiometer can have; anything else is a slip of somebody's and is not drawn."""


@dataclass(frozen=True, slots=True)
class Threshold:
    ear: Ear
    stage: Stage
    frequency: int
    conduction: str
    masked: bool
    level: Decimal
    response: bool
    """Where False, `level` is the highest one tried."""


def thresholds(resources: Sequence[Json]) -> tuple[list[Threshold], int]:
    """All that can be drawn, in order of frequency; and how many can not: not in force, or of an ear, a frequency or a
    level that is not clear."""
    found, unclear = [], 0
    for resource in resources:
        if resource.get("resourceType") == "Observation" and kind_of(resource) == "hearing-threshold":
            made = None if not_in_force(resource) else _threshold(resource)
            found += [made] if made else []
            unclear += made is None
    return sorted(found, key=lambda t: (t.frequency, t.masked, t.level)), unclear


def _threshold(resource: Json) -> Threshold | None:
    components = parts(resource)

    def fixed(group: str, kind: str) -> str | None:
        return next((word(group, c.get("valueCodeableConcept")) for c in components.get(kind, ())), None)

    side, stage, conduction = ear_of(resource), fixed("stage", "exam-stage"), fixed("conduction", "conduction")
    named = {threshold_ear(str(c.get("code"))) for c in resource.get("code", {}).get("coding", ())} - {None}
    frequency = _number(next(iter(components.get("frequency", ())), {}), "Hz")
    silent = no_response(resource)
    level = _number(next(iter(components.get("level-tried", ())), {}) if silent else resource, "dB")
    clear = side is not None and named <= {side} and stage in ("before", "after") and conduction in ("air", "bone")
    if not clear or side is None or frequency not in FREQUENCIES or level is None or not LEAST <= level <= MOST:
        return None
    masked = fixed("masking", "masking") == "masked"
    when: Stage = "before" if stage == "before" else "after"
    return Threshold(side, when, int(frequency), str(conduction), masked, level, not silent)


def _number(holder: Json, unit: str) -> Decimal | None:
    quantity = holder.get("valueQuantity", {})
    try:
        value = Decimal(str(quantity.get("value")))
    except InvalidOperation:
        return None
    return value if quantity.get("code") == unit and value.is_finite() else None
