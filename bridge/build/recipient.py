"""Organization: the service that the client is sent to, where the record or the address book names it."""

from __future__ import annotations

from bridge.build.context import Built, Context, Json
from bridge.build.organization import organisation_number
from bridge.fhir.elements import postal, telecom
from bridge.fhir.ids import reference
from bridge.fhir.own import fixed
from bridge.referral_target import to_family_doctor
from bridge.visit.people import Recipient


def build_recipient(context: Context) -> Built | None:
    referral = context.visit.referral
    if referral is None or referral.recipient is None:
        return None
    service = referral.recipient
    points = telecom((service.phone,) if service.phone else (), (service.email,) if service.email else ())
    return context.add(
        "recipient",
        {
            "resourceType": "Organization",
            "id": _id(context, service.key or service.name),
            "identifier": _identifiers(context, service),
            "active": True,
            **({"name": service.name} if service.name else {}),
            **({"telecom": points} if points else {}),
            **({"address": [postal(service.address, context.region.district)]} if service.address else {}),
            **({"contact": [{"name": {"text": service.person}}]} if service.person else {}),
        },
    )


def performer(context: Context) -> list[Json]:
    """Who is to act on the referral: the service named, or the family doctor's practice where it goes there."""
    referral = context.visit.referral
    topic = "recipient" if referral and referral.recipient else "family-doctor"
    if referral is None or (topic == "family-doctor" and not to_family_doctor(referral, context.visit.family_doctor)):
        return []
    found = [b for b in context.built if b.topic == topic]
    return [{**reference(b.id), **({"display": name} if (name := b.resource.get("name")) else {})} for b in found]


def _id(context: Context, word: str | None) -> str:
    return context.ids.of("Organization", "recipient", word, *context.theirs)


def _identifiers(context: Context, service: Recipient) -> list[Json]:
    code, key = service.organisation_code, service.key
    found = organisation_number(context, code)
    if key:
        found.append({"type": fixed("key", "own key"), "system": context.keys("services"), "value": key})
    elif not any("system" in number for number in found):
        found.append(context.local_identifier("recipient", _id(context, service.name)))
    return found
