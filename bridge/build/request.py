"""What the family doctor is asked to do: ServiceRequest, or Task where it is something to be done to the record.

Which of them an ask is, its first words say by mappings/request-kinds.csv. Both are proposals: the doctor decides.
"""

from __future__ import annotations

import re
from functools import cache

from bridge.build.context import Context, Json
from bridge.data import load_csv, table_path
from bridge.fhir.elements import ear_site
from bridge.fhir.ids import reference
from bridge.fhir.own import fixed
from bridge.fhir.times import to_datetime
from bridge.visit.care import Request

_SIGNS = re.compile(r"[^\w\s-]+")


def build_requests(context: Context) -> None:
    doctors = [reference(b.id) for b in context.built if b.topic == "family-doctor"]
    for index, request in enumerate(context.visit.requests):
        if is_task(request.action):
            _task(context, request, index, doctors)
        else:
            _service(context, request, index, doctors)


def is_task(action: str) -> bool:
    """Whether an ask is about the record only."""
    said = " ".join(_SIGNS.sub(" ", action).casefold().split())
    while before := next((w for w in _words("before") if said.startswith(f"{w} ")), None):
        said = said.removeprefix(f"{before} ")
    begins = any(f"{said} ".startswith(f"{w} ") for w in _words("task"))
    return begins and not any(f" {w} " in f" {said} " for w in _words("service"))


@cache
def _words(kind: str) -> tuple[str, ...]:
    rows = load_csv(table_path("request-kinds.csv"))
    found = [word for row in rows if row["kind"] == kind for word in row["words"].split("|")]
    return tuple(sorted(found, key=len, reverse=True))


def _service(context: Context, request: Request, index: int, doctors: list[Json]) -> None:
    context.make(
        "request",
        "ServiceRequest",
        ("request", index),
        {
            "identifier": context.fact_identifier("request", index),
            "status": "active",
            "intent": "proposal",
            "category": [fixed("request", "request")],
            "code": {"text": request.action},
            "subject": context.patient,
            "encounter": context.encounter,
            **({"occurrencePeriod": {"end": to_datetime(request.by_when)}} if request.by_when else {}),
            **_asked(context),
            **({"performer": doctors} if doctors else {}),
            **({"reasonCode": [{"text": request.reason}]} if request.reason else {}),
            **({"bodySite": [ear_site(request.ear)]} if request.ear else {}),
        },
        ear=request.ear,
    )


def _task(context: Context, request: Request, index: int, doctors: list[Json]) -> None:
    """A Task has no body site; the ear is one of its inputs."""
    ear = [{"type": fixed("request", "ear"), "valueCodeableConcept": ear_site(request.ear)}] if request.ear else []
    context.make(
        "request",
        "Task",
        ("request", index),
        {
            "identifier": context.fact_identifier("request", index),
            "status": "requested",
            "intent": "proposal",
            "code": fixed("request", "request"),
            "description": request.action,
            "for": context.patient,
            "encounter": context.encounter,
            **_asked(context),
            **({"owner": doctors[0]} if doctors else {}),
            **({"reasonCode": {"text": request.reason}} if request.reason else {}),
            **({"restriction": {"period": {"end": to_datetime(request.by_when)}}} if request.by_when else {}),
            **({"input": ear} if ear else {}),
        },
        ear=request.ear,
    )


def _asked(context: Context) -> Json:
    recorded = context.visit.recorded_at
    return {
        **({"authoredOn": to_datetime(recorded)} if recorded else {}),
        **({"requester": context.practitioners[0]} if context.practitioners else {}),
    }
