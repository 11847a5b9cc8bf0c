"""Medicines and drops: MedicationStatement, or MedicationAdministration for what was used in clinic.

Not asked and none are no resources; the letter's section says so. Strength, batch and expiry belong to the
thing itself, so they stand in a contained Medication.
"""

from __future__ import annotations

from bridge.build.context import Context, Json
from bridge.build.procedure import procedure_id
from bridge.ear_words import EARS, Ear
from bridge.fhir.elements import concept, ear_site
from bridge.fhir.ids import reference
from bridge.fhir.nothing import says_none
from bridge.fhir.own import fixed
from bridge.fhir.strength import strength_ratio
from bridge.fhir.times import to_datetime
from bridge.phrases import qualifier
from bridge.visit import Work
from bridge.visit.ear import Product

LIST_STATUS = {"medicine": "active", "softener": "completed", "work": "unknown"}
"""medication-statement-status of each list of the visit, where the record does not say more."""
WHEN_STATUS = {
    "used before": "completed",
    "used in clinic": "completed",
    "supplied": "intended",
    "advised": "intended",
}
ASSERTED_STATUS = {"absent": "not-taken", "past": "completed", "suspected": "unknown"}
DATA_ABSENT = "http://hl7.org/fhir/StructureDefinition/data-absent-reason"


def build_medicines(context: Context) -> None:
    """Current medicines, and softeners used before the visit."""
    visit = context.visit
    for index, product in enumerate(visit.medicines.items if visit.medicines else ()):
        _statement(context, "medicine", product, ("medicine", index), {})
    for index, product in enumerate(visit.softeners):
        _statement(context, "softener", product, ("softener", index), {"route": fixed("route", "ear")})


def build_products(context: Context) -> None:
    """Products of the work on each ear, part of its Procedure."""
    for ear in EARS:
        record = context.visit.ear(ear)
        for number, work in enumerate(record.work if record else ()):
            for index, product in enumerate(work.products):
                parts = (ear, "work", number, "product", index)
                stated = product.name.assertion in (None, "present")
                if product.when == "used in clinic" and stated:
                    _administration(context, work, product, ear, parts)
                else:
                    part_of = reference(procedure_id(context, ear, number))
                    site = {"site": ear_site(ear, "ear canal")}
                    _statement(context, "work", product, parts, site, ear=ear, part_of=part_of)


def _statement(
    context: Context,
    kind: str,
    product: Product,
    parts: tuple[object, ...],
    place: Json,
    *,
    ear: Ear | None = None,
    part_of: Json | None = None,
) -> None:
    visit = context.visit
    assertion = product.name.assertion or "present"
    dosage = {**({"text": product.dose} if product.dose else {}), **place}
    reasons = [fixed("product-when", product.when)] if product.when else []
    reasons += [fixed("assertion", assertion)] if assertion != "present" else []
    context.make(
        "product" if kind == "work" else kind,
        "MedicationStatement",
        parts,
        {
            **_contained(product),
            "identifier": context.fact_identifier(*parts),
            **({"partOf": [part_of]} if part_of else {}),
            "status": _status(kind, product),
            **({"statusReason": reasons} if reasons else {}),
            "category": fixed("product-list", kind),
            **_medication(product),
            "subject": context.patient,
            "context": context.encounter,
            **({"effectivePeriod": {"start": to_datetime(product.start)}} if product.start else {}),
            **({"dateAsserted": to_datetime(visit.recorded_at)} if visit.recorded_at else {}),
            **({"note": [{"text": product.note}]} if product.note else {}),
            **({"dosage": [dosage]} if dosage else {}),
        },
        ear=ear,
    )


def _status(kind: str, product: Product) -> str:
    """Uncoded words that begin with a denial or a doubt (`no aspirin`) never make a medicine that is taken."""
    if says_none(product.name):
        return "not-taken"
    said = product.name.assertion or (None if product.name.codings else qualifier(product.name.text, "product"))
    asserted = ASSERTED_STATUS.get(said or "")
    return asserted or WHEN_STATUS.get(product.when or "") or LIST_STATUS[kind]


def _administration(context: Context, work: Work, product: Product, ear: Ear, parts: tuple[object, ...]) -> None:
    visit = context.visit
    period = {"start": to_datetime(visit.start), **({"end": to_datetime(visit.end)} if visit.end else {})}
    effective = {"effectiveDateTime": to_datetime(product.start)} if product.start else {"effectivePeriod": period}
    performers = [context.practitioner(work.practitioner)] if work.practitioner else context.practitioners
    number = parts[2]
    assert isinstance(number, int)
    context.make(
        "product",
        "MedicationAdministration",
        parts,
        {
            **_contained(product),
            "identifier": context.fact_identifier(*parts),
            "partOf": [reference(procedure_id(context, ear, number))],
            "status": "completed",
            **_medication(product),
            "subject": context.patient,
            "context": context.encounter,
            **effective,
            **({"performer": [{"actor": p} for p in performers]} if performers else {}),
            **({"note": [{"text": product.note}]} if product.note else {}),
            "dosage": _given(product, ear),
        },
        ear=ear,
    )


def _given(product: Product, ear: Ear) -> Json:
    """R4 wants a dose wherever there is a dosage (mad-1); a dose in words is absent as a number for that reason."""
    absent = {"url": DATA_ABSENT, "valueCode": "as-text" if product.dose else "unknown"}
    return {
        **({"text": product.dose} if product.dose else {}),
        "site": ear_site(ear, "ear canal"),
        "dose": {"extension": [absent]},
    }


def _medication(product: Product) -> Json:
    if _contained(product):
        return {"medicationReference": {"reference": "#product"}}
    return {"medicationCodeableConcept": concept(product.name)}


def _contained(product: Product) -> Json:
    if not (product.strength or product.batch or product.expiry):
        return {}
    batch = {
        **({"lotNumber": product.batch} if product.batch else {}),
        **({"expirationDate": to_datetime(product.expiry)} if product.expiry else {}),
    }
    name = concept(product.name)
    ingredient = {"itemCodeableConcept": name, "strength": strength_ratio(product.strength or "")}
    medication = {
        "resourceType": "Medication",
        "id": "product",
        "code": name,
        **({"ingredient": [ingredient]} if product.strength else {}),
        **({"batch": batch} if batch else {}),
    }
    return {"contained": [medication]}
