"""Organization: the clinic, and the family doctor's practice where one is known."""

from __future__ import annotations

from typing import Any

from bridge.build.context import Built, Context, Json, one
from bridge.build.patient import family_doctor_id
from bridge.fhir.elements import postal, telecom
from bridge.fhir.own import fixed
from bridge.fhir.systems import system


def build_clinic(context: Context) -> Built | None:
    clinic = context.visit.clinic
    if clinic is None:
        return None
    phones = [{"system": "phone", "value": clinic.phone}] if clinic.phone else []
    mails = [{"system": "email", "value": clinic.email}] if clinic.email else []
    # Organization has no hours in R4; they are told as the purpose of the person who answers the phone.
    hours = [{"purpose": {"text": clinic.hours}}] if clinic.hours else []
    return context.add(
        "clinic",
        {
            "resourceType": "Organization",
            "id": context.clinic_id,
            "identifier": _identifiers(context, "clinic", clinic.organisation_code),
            "active": True,
            "name": clinic.name,
            **({"telecom": [*phones, *mails]} if phones or mails else {}),
            **({"address": [postal(clinic.address, context.region.district)]} if clinic.address else {}),
            **({"contact": hours} if hours else {}),
        },
    )


def build_family_doctor(context: Context) -> Built | None:
    doctor = context.visit.family_doctor
    if doctor is None or doctor.answer != "known":
        return None
    points = telecom((doctor.phone,) if doctor.phone else (), (doctor.email,) if doctor.email else ())
    body: dict[str, Any] = {
        "resourceType": "Organization",
        "id": family_doctor_id(context),
        "identifier": _identifiers(context, "family-doctor", doctor.organisation_code, doctor.key or ""),
        "active": True,
        **({"name": doctor.practice} if doctor.practice else {}),
        **({"telecom": points} if points else {}),
        **({"address": [postal(doctor.address, context.region.district)]} if doctor.address else {}),
        **({"contact": [{"name": {"text": doctor.doctor}}]} if doctor.doctor else {}),
    }
    return context.add("family-doctor", body)


def organisation_number(context: Context, code: str | None) -> list[Json]:
    """The organisation's code under the system of the region's register, or as a number of no known system."""
    if not code:
        return []
    name = context.region.organisation
    return [{"system": system(name), "value": code} if name else {"type": one("v2-0203:XX"), "value": code}]


def _identifiers(context: Context, role: str, code: str | None, key: str = "") -> list[Json]:
    found = organisation_number(context, code)
    if key:
        found.append({"type": fixed("key", "own key"), "system": context.keys("doctors"), "value": key})
    elif not any("system" in number for number in found):
        found.append(context.local_identifier(role, context.ids.of("Organization", role, *context.theirs)))
    return found
