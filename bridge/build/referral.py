"""ServiceRequest of intent order: the client is sent on. What the family doctor is asked to do is a proposal (plan.py).

How fast is the priority alone: a last day is not made up where the record names none.
"""

from __future__ import annotations

from bridge.build.context import Context, Json
from bridge.fhir.elements import concept, ear_site
from bridge.fhir.ids import reference
from bridge.fhir.own import fixed
from bridge.fhir.times import to_datetime
from bridge.visit.care import Referral

PRIORITY = {"immediate": "stat", "urgent": "urgent", "routine": "routine"}


def build_referral(context: Context) -> None:
    visit, referral = context.visit, context.visit.referral
    if referral is None:
        return
    details = _details(referral)
    evidence = [reference(b.id) for b in context.built if b.topic == "impression" and referral.ear in (None, b.ear)]
    context.make(
        "referral",
        "ServiceRequest",
        ("referral",),
        {
            "identifier": context.fact_identifier("referral"),
            "status": "active",
            "intent": "order",
            "category": [fixed("referral", "referral")],
            "priority": PRIORITY[referral.urgency],
            "code": concept(referral.to),
            **({"orderDetail": details} if details else {}),
            "subject": context.patient,
            "encounter": context.encounter,
            **({"authoredOn": to_datetime(visit.recorded_at)} if visit.recorded_at else {}),
            **({"requester": context.practitioners[0]} if context.practitioners else {}),
            "reasonCode": [{"text": referral.reason}],
            **({"supportingInfo": evidence} if evidence else {}),
            **({"bodySite": [ear_site(referral.ear)]} if referral.ear else {}),
            **({"note": [{"text": referral.question}]} if referral.question else {}),
            **({"patientInstruction": referral.client_told} if referral.client_told else {}),
        },
        ear=referral.ear,
    )


def _details(referral: Referral) -> list[Json]:
    """R4 has no elements for them; what kind of detail each is stands in its own code, the words in its text."""
    told = (
        ("rule", referral.rule),
        ("told by", referral.told_by),
        ("told at", to_datetime(referral.told_at) if referral.told_at else None),
        ("receipt", referral.receipt),
    )
    return [fixed("referral", kind, words) for kind, words in told if words]
