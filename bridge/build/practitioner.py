"""Practitioner and PractitionerRole: who did the work, in which role, on which register or on none."""

from __future__ import annotations

from bridge.build.context import Context, Json
from bridge.fhir.elements import human_name, telecom
from bridge.fhir.own import fixed
from bridge.fhir.registers import register_system
from bridge.visit.people import Practitioner


def build_practitioners(context: Context) -> None:
    for practitioner in context.visit.practitioners:
        context.add("practitioner", _practitioner(context, practitioner))
        context.add("practitioner-role", _role(context, practitioner))


def role_id(context: Context, key: str) -> str:
    return context.ids.of("PractitionerRole", key, *context.theirs)


def _practitioner(context: Context, practitioner: Practitioner) -> Json:
    key = {"type": fixed("key", "own key"), "system": context.keys("practitioner"), "value": practitioner.key}
    registered = [{"system": register_system(r.register_key), "value": r.number} for r in practitioner.registrations]
    return {
        "resourceType": "Practitioner",
        "id": context.practitioner_id(practitioner.key),
        "identifier": [key, *registered],
        **({"name": [human_name(practitioner.name, "official")]} if practitioner.name else {}),
        **({"telecom": telecom((practitioner.phone,))} if practitioner.phone else {}),
        **({"qualification": [{"code": fixed("register", "none")}]} if practitioner.no_register else {}),
    }


def _role(context: Context, practitioner: Practitioner) -> Json:
    id, clinic = role_id(context, practitioner.key), context.visit.clinic
    return {
        "resourceType": "PractitionerRole",
        "id": id,
        "identifier": [context.local_identifier("role", practitioner.key, *context.theirs)],
        "practitioner": context.practitioner(practitioner.key),
        **({"organization": context.clinic} if context.visit.clinic else {}),
        **({"code": [{"text": practitioner.role}]} if practitioner.role else {}),
        **({"telecom": telecom((clinic.phone,))} if clinic and clinic.phone else {}),
    }
