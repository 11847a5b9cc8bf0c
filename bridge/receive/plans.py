"""Advice, follow-up and asks of the family doctor."""

from __future__ import annotations

from typing import Any

from bridge.fhir.elements import ear_of, term
from bridge.fhir.own import word
from bridge.fhir.times import from_datetime
from bridge.receive.index import Index
from bridge.receive.values import kept, note_of, part_of_visit
from bridge.visit.care import Advice, FollowUp, Request

Json = dict[str, Any]


def advice(index: Index) -> tuple[Advice, ...]:
    return tuple(_advice(index.use(c)) for c in index.of_type("Communication"))


def _advice(communication: Json) -> Advice:
    said = {word("advice", c) for c in communication.get("category", ())}
    understood = True if "understood" in said else False if "not understood" in said else None
    return part_of_visit(
        Advice,
        kept(
            term=term(communication["topic"]),
            to=next((r.get("display") for r in communication.get("recipient", ())), None),
            form=next((m.get("text") for m in communication.get("medium", ())), None),
            understood=understood,
            safety_net="safety net" in said,
        ),
    )


def follow_up(index: Index) -> FollowUp | None:
    for plan in index.of_type("CarePlan"):
        for activity in plan.get("activity", ()):
            index.use(plan)
            detail = activity.get("detail", {})
            due = detail.get("scheduledPeriod", {}).get("start")
            return part_of_visit(
                FollowUp,
                kept(
                    plan=detail.get("description"),
                    due=from_datetime(due) if due else None,
                    reason=next((r.get("text") for r in detail.get("reasonCode", ())), None),
                ),
            )
    for observation in index.observations("no-follow-up"):
        return part_of_visit(FollowUp, kept(plan=observation["valueString"], reason=note_of(observation)))
    return None


def requests(index: Index) -> tuple[Request, ...]:
    """In the order of the record, whatever each was written as."""
    kinds = {"ServiceRequest": _service, "Task": _task}
    proposals = (r for r in index.all if r["resourceType"] in kinds and r.get("intent") == "proposal")
    return tuple(part_of_visit(Request, kinds[r["resourceType"]](index.use(r))) for r in proposals)


def _service(request: Json) -> Json:
    by_when = request.get("occurrencePeriod", {}).get("end")
    return kept(
        action=request["code"].get("text"),
        ear=ear_of((request.get("bodySite") or [None])[0]),
        by_when=from_datetime(by_when) if by_when else None,
        reason=next((r.get("text") for r in request.get("reasonCode", ())), None),
    )


def _task(task: Json) -> Json:
    by_when = task.get("restriction", {}).get("period", {}).get("end")
    return kept(
        action=task["description"],
        ear=next((ear_of(i.get("valueCodeableConcept")) for i in task.get("input", ())), None),
        by_when=from_datetime(by_when) if by_when else None,
        reason=task.get("reasonCode", {}).get("text"),
    )
