"""What is known of an ear from before, told apart from today's impressions and work by its category."""

from __future__ import annotations

from typing import Any

from bridge.ear_words import Ear
from bridge.fhir.elements import ear_of, term
from bridge.fhir.own import first_word, word
from bridge.fhir.tell.observation import kind_of
from bridge.fhir.times import from_datetime
from bridge.receive.index import Index
from bridge.receive.values import kept, note_of, part_of_visit, when_in
from bridge.visit.ear import PastEvent

Json = dict[str, Any]

_VERIFIED = {"refuted": "absent", "unconfirmed": "suspected", "": None}


def past_events(index: Index, ear: Ear) -> tuple[PastEvent, ...]:
    """In the order of the bundle, which is the order of the record, whatever each was written as."""
    found = []
    for resource in index.all:
        if resource["resourceType"] == "Observation" and kind_of(resource) == "past-event":
            if ear_of(resource.get("bodySite")) == ear:
                found.append(_observation(index.use(resource)))
        elif (told := past(resource)) and ear_of((resource.get("bodySite") or [None])[0]) == ear:
            found.append(_event(index.use(resource), told))
    return tuple(found)


def past(resource: Json) -> str | None:
    """`present` or `past`, as the event was told; None for a Condition or Procedure of this visit."""
    if resource["resourceType"] == "Condition":
        return first_word("history", resource.get("category", ()))
    return word("history", resource.get("category")) if resource["resourceType"] == "Procedure" else None


def _event(resource: Json, told: str) -> PastEvent:
    verified: str | None = told
    if resource["resourceType"] == "Condition":
        status = resource.get("verificationStatus", {}).get("coding", ())
        verified = _VERIFIED.get(next((str(c.get("code")) for c in status), ""), told)
    period = resource.get("performedPeriod", {})
    date = resource.get("onsetDateTime") or resource.get("performedDateTime") or period.get("start")
    ended = resource.get("abatementDateTime") or period.get("end")
    return part_of_visit(
        PastEvent,
        kept(
            term=term(resource["code"], verified),
            date=from_datetime(date) if date else None,
            ended=from_datetime(ended) if ended else None,
            note=note_of(resource),
        ),
    )


def _observation(observation: Json) -> PastEvent:
    return part_of_visit(
        PastEvent,
        kept(
            term=term(observation["valueCodeableConcept"], "past"),
            date=when_in(observation, "symptom-onset"),
            ended=when_in(observation, "event-ended"),
            note=note_of(observation),
        ),
    )
