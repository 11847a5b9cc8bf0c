"""Products from MedicationStatement and MedicationAdministration."""

from __future__ import annotations

from typing import Any

from bridge.fhir.elements import term
from bridge.fhir.own import first_word
from bridge.fhir.strength import strength_words
from bridge.fhir.times import from_datetime
from bridge.receive.index import Index
from bridge.receive.values import kept, note_of, part_of_visit
from bridge.visit.ear import Product

Json = dict[str, Any]


def products_of(index: Index, procedure: Json) -> tuple[Product, ...]:
    """Products that are part of the Procedure, in their order."""
    found = (r for r in index.all if r["resourceType"] in ("MedicationStatement", "MedicationAdministration"))
    return tuple(product(index.use(r)) for r in found if index.is_part(r, procedure))


def product(resource: Json) -> Product:
    given = resource["resourceType"] == "MedicationAdministration"
    medication: Json = next(iter(resource.get("contained", ())), {})
    dosage = resource.get("dosage", {}) if given else next(iter(resource.get("dosage", ())), {})
    reasons = resource.get("statusReason", ())
    start = resource.get("effectiveDateTime") if given else resource.get("effectivePeriod", {}).get("start")
    strength = next((i.get("strength") for i in medication.get("ingredient", ())), None)
    expiry = medication.get("batch", {}).get("expirationDate")
    return part_of_visit(
        Product,
        kept(
            name=term(
                medication.get("code") or resource["medicationCodeableConcept"], first_word("assertion", reasons)
            ),
            strength=strength_words(strength) if strength else None,
            dose=dosage.get("text"),
            when="used in clinic" if given else first_word("product-when", reasons),
            start=from_datetime(start) if start else None,
            batch=medication.get("batch", {}).get("lotNumber"),
            expiry=from_datetime(expiry) if expiry else None,
            note=note_of(resource),
        ),
    )
