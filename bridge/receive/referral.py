"""The referral from its ServiceRequest: the mirror of build/referral.py."""

from __future__ import annotations

from bridge.fhir.elements import ear_of, term
from bridge.fhir.own import word
from bridge.fhir.times import from_datetime
from bridge.receive.index import Index
from bridge.receive.values import kept, note_of
from bridge.visit.care import Referral

URGENCY = {"stat": "immediate", "urgent": "urgent", "routine": "routine"}


def referral(index: Index) -> Referral | None:
    for order in index.of_type("ServiceRequest"):
        if order.get("intent") != "order":
            continue
        index.use(order)
        details = {word("referral", d): d.get("text") for d in order.get("orderDetail", ())}
        told_at = details.get("told at")
        return Referral.model_validate(
            kept(
                to=term(order["code"]),
                urgency=URGENCY[order["priority"]],
                reason=order["reasonCode"][0]["text"],
                rule=details.get("rule"),
                question=note_of(order),
                ear=ear_of((order.get("bodySite") or [None])[0]),
                told_by=details.get("told by"),
                told_at=from_datetime(told_at) if told_at else None,
                receipt=details.get("receipt"),
                client_told=order.get("patientInstruction"),
            )
        )
    return None
