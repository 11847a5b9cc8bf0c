"""Encounter: the appointment itself."""

from __future__ import annotations

from bridge.build.context import Built, Context
from bridge.build.related_person import escorts
from bridge.fhir.elements import concept
from bridge.fhir.own import coding, fixed
from bridge.fhir.times import to_datetime

CLASS = {"clinic": "v3-ActCode:AMB", "home": "v3-ActCode:HH", "care home": "v3-ActCode:FLD"}


def build_encounter(context: Context) -> Built:
    visit = context.visit
    number = {"type": {"coding": [coding("v2-0203:VN")]}, "system": context.ids.system("visit"), "value": visit.number}
    participants = [*({"individual": p} for p in context.practitioners), *escorts(context)]
    return context.make(
        "encounter",
        "Encounter",
        (),
        {
            "identifier": [number],
            "status": "finished" if visit.attendance == "attended" else "cancelled",
            "class": coding(CLASS[visit.place]),
            "type": [fixed("attendance", visit.attendance)],
            "subject": context.patient,
            **({"participant": participants} if participants else {}),
            "period": {"start": to_datetime(visit.start), **({"end": to_datetime(visit.end)} if visit.end else {})},
            **({"reasonCode": [concept(reason) for reason in visit.reasons]} if visit.reasons else {}),
            **({"serviceProvider": context.clinic} if visit.clinic else {}),
        },
    )
