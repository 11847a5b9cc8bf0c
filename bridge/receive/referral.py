"""The referral from its ServiceRequest: the mirror of build/referral.py and build/recipient.py."""

from __future__ import annotations

from typing import Any

from bridge.fhir.elements import address, contacts, ear_of, term
from bridge.fhir.own import word
from bridge.fhir.tell.administrative import key_of
from bridge.fhir.times import from_datetime
from bridge.receive.index import Index
from bridge.receive.people import organisation_code
from bridge.receive.values import kept, note_of, part_of_visit
from bridge.referral_tables import urgencies
from bridge.visit.care import NotReferred, Referral

Json = dict[str, Any]


def referral(index: Index, patient: Json) -> Referral | None:
    for order in index.of_type("ServiceRequest"):
        if order.get("intent") != "order":
            continue
        index.use(order)
        details = {word("referral", d): d.get("text") for d in order.get("orderDetail", ())}
        told_at, end = details.get("told at"), order.get("occurrencePeriod", {}).get("end")
        return part_of_visit(
            Referral,
            kept(
                to=term(order["code"]),
                recipient=_recipient(index, order, patient),
                urgency=next(u.urgency for u in urgencies().values() if u.priority == order["priority"]),
                by=from_datetime(end) if end and "within" not in details else None,
                reason=order["reasonCode"][0]["text"],
                rule=details.get("rule"),
                question=note_of(order),
                ear=_ear(order, details),
                told_by=details.get("told by"),
                told_at=from_datetime(told_at) if told_at else None,
                told_to=details.get("told to"),
                agreed=details.get("agreed"),
                receipt=details.get("receipt"),
                client_told=order.get("patientInstruction"),
            ),
        )
    return None


def not_referred(provenance: Json) -> NotReferred | None:
    """Why no referral was made although a red flag stands, with the flags that the record names beside it.

    Only by our own codes: the reason of another's Provenance is no answer to a red flag.
    """
    told = [(word("not-referred", r), r.get("text")) for r in provenance.get("reason", ())]
    reasons = [text for what, text in told if what == "reason"]
    rules = tuple(text for what, text in told if what == "rule")
    return part_of_visit(NotReferred, kept(reason=reasons[0], rules=rules)) if reasons else None


def _ear(order: Json, details: dict[str | None, Any]) -> str | None:
    ears = {ear_of(site) for site in order.get("bodySite", ())}
    if "neither" in details:
        return "neither"
    return "both" if len(ears) == 2 else next(iter(ears), None)


def _recipient(index: Index, order: Json, patient: Json) -> Json | None:
    """The service named; the family doctor's practice is known from the client."""
    service = next((index.at(performer) for performer in order.get("performer", ())), None)
    if service is None or any(index.at(doctor) is service for doctor in patient.get("generalPractitioner", ())):
        return None
    points = service.get("telecom", ())
    people = [c["name"].get("text") for c in service.get("contact", ()) if "name" in c]
    return kept(
        key=key_of(service) or None,
        name=service.get("name"),
        organisation_code=organisation_code(service),
        person=next(iter(people), None),
        address=next((address(a) for a in service.get("address", ())), None),
        phone=next(iter(contacts(points, "phone")), None),
        email=next(iter(contacts(points, "email")), None),
    )
