"""From a coded visit to R4 resources, and to the bundles that carry them."""

from __future__ import annotations

from collections.abc import Iterable
from uuid import UUID
from zoneinfo import ZoneInfo

from bridge.build.allergy import build_allergies
from bridge.build.bundle import collection, document, transaction
from bridge.build.caution import build_cautions
from bridge.build.composition import build_composition
from bridge.build.condition import build_conditions
from bridge.build.consent import build_sharing_consent, build_treatment_consent
from bridge.build.context import Built, Context, Json
from bridge.build.encounter import build_encounter
from bridge.build.examination import build_examinations
from bridge.build.finer_sites import with_finer_sites
from bridge.build.hearing import build_hearing
from bridge.build.hearing_aid import build_hearing_aids
from bridge.build.image import build_images
from bridge.build.narrative import narrative
from bridge.build.organization import build_clinic, build_family_doctor
from bridge.build.past_event import build_history
from bridge.build.patient import build_patient
from bridge.build.plan import build_advice, build_follow_up
from bridge.build.plan_of_sections import document_plan
from bridge.build.practitioner import build_practitioners
from bridge.build.procedure import build_procedures
from bridge.build.product import build_medicines, build_products
from bridge.build.provenance import build_device, build_provenance
from bridge.build.recipient import build_recipient
from bridge.build.referral import build_referral
from bridge.build.related_person import build_related_persons
from bridge.build.request import build_requests
from bridge.build.stand_in import build_approval, build_empty_lists
from bridge.build.told import build_access_needs, build_notes, build_symptoms
from bridge.fhir.ids import Ids
from bridge.visit import Visit

__all__ = ["build_collection", "build_document", "build_transaction", "with_finer_sites"]


def build_document(visit: Visit, namespace: UUID, zone: ZoneInfo, kind: str = "summary") -> Json:
    """The document Bundle of a coded visit by the section plan `kind`."""
    context = resources(visit, namespace, zone)
    composition = build_composition(context, document_plan(kind))
    build_provenance(context, kind)
    narrate(context.built)
    return document(context, composition, kind)


def build_transaction(visit: Visit, namespace: UUID, zone: ZoneInfo, kind: str = "summary") -> Json:
    """The same resources as a transaction for a FHIR server, the Composition among them."""
    context = resources(visit, namespace, zone)
    build_composition(context, document_plan(kind))
    build_provenance(context)
    narrate(context.built)
    return transaction(context)


def build_collection(visit: Visit, namespace: UUID, zone: ZoneInfo, kind: str = "summary") -> Json:
    """The same resources as a collection without the Composition; what only that says stands in their own right."""
    context = resources(visit, namespace, zone)
    composition = build_composition(context, document_plan(kind))
    context.built.remove(composition)
    build_empty_lists(context, composition.resource)
    build_approval(context, build_provenance(context))
    narrate(context.built)
    return collection(context)


def resources(visit: Visit, namespace: UUID, zone: ZoneInfo) -> Context:
    """Everything but Composition and Provenance, each after what it refers to where order matters."""
    context = Context(visit, Ids(namespace), zone)
    build_clinic(context)
    build_family_doctor(context)
    build_recipient(context)
    build_practitioners(context)
    build_patient(context)
    build_related_persons(context)
    build_encounter(context)
    build_treatment_consent(context)
    build_sharing_consent(context)
    build_symptoms(context)
    build_hearing_aids(context)
    build_access_needs(context)
    build_examinations(context)
    build_hearing(context)
    build_images(context)
    build_conditions(context)
    build_procedures(context)
    build_products(context)
    build_history(context)
    build_cautions(context)
    build_medicines(context)
    build_allergies(context)
    build_notes(context)
    build_advice(context)
    build_follow_up(context)
    build_requests(context)
    build_referral(context)
    build_device(context)
    return context


def narrate(made: Iterable[Built]) -> None:
    """Gives every resource its text, straight after the id as the standard orders the members."""
    for built in made:
        resource = built.resource
        members = {k: resource.pop(k) for k in list(resource) if k not in ("resourceType", "id")}
        text = narrative({"resourceType": resource["resourceType"], **members})
        resource.update({"text": text, **members})
