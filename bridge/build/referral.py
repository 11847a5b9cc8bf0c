"""ServiceRequest of intent order: the client is sent on. What the family doctor is asked to do is a proposal (plan.py).

The last moment is the record's own, or what its urgency means; then a detail says so in words, and it does not come
back as if it had been recorded. Where the start is not known well enough, the words stand alone.
"""

from __future__ import annotations

from bridge.build.context import Context, Json
from bridge.build.recipient import performer
from bridge.fhir.elements import concept, ear_site
from bridge.fhir.ids import reference
from bridge.fhir.own import fixed
from bridge.fhir.times import to_datetime
from bridge.referral_tables import last_moment, urgencies
from bridge.visit.care import Referral

IMPRESSIONS = ("impression", "impression-unconfirmed")
TOLD = ("Observation", "Condition", "Media")
"""What is told of the ears that the referral is about."""


def build_referral(context: Context) -> None:
    visit, referral = context.visit, context.visit.referral
    if referral is None:
        return
    meant = "" if referral.by else last_moment(visit.start, referral.urgency, context.zone)
    details = _details(referral)
    end = referral.by or meant
    receiver = performer(context)
    evidence = [reference(b.id) for b in context.built if _tells(b.resource["resourceType"], b.ear, b.topic, referral)]
    sites = [ear_site(ear) for ear in referral.ears]
    context.make(
        "referral",
        "ServiceRequest",
        ("referral",),
        {
            "identifier": context.fact_identifier("referral"),
            "status": "active",
            "intent": "order",
            "category": [fixed("referral", "referral")],
            "priority": urgencies()[referral.urgency].priority,
            "code": concept(referral.to),
            **({"orderDetail": details} if details else {}),
            "subject": context.patient,
            "encounter": context.encounter,
            **({"occurrencePeriod": {"end": to_datetime(end)}} if end else {}),
            **({"authoredOn": to_datetime(visit.recorded_at)} if visit.recorded_at else {}),
            **({"requester": context.practitioners[0]} if context.practitioners else {}),
            **({"performer": receiver} if receiver else {}),
            "reasonCode": [{"text": referral.reason}],
            **({"supportingInfo": evidence} if evidence else {}),
            **({"bodySite": sites} if sites else {}),
            **({"note": [{"text": referral.question}]} if referral.question else {}),
            **({"patientInstruction": referral.client_told} if referral.client_told else {}),
        },
        ear=referral.ears[0] if len(referral.ears) == 1 else None,
    )


def _tells(type: str, ear: str | None, topic: str, referral: Referral) -> bool:
    """Facts of its ears; where it names none, what the practitioner thinks of either."""
    return (type in TOLD and ear in referral.ears) if referral.ears else topic in IMPRESSIONS


def _details(referral: Referral) -> list[Json]:
    """R4 has no elements for them; what kind of detail each is stands in its own code, the words in its text."""
    told = (
        ("within", None if referral.by else urgencies()[referral.urgency].words),
        ("rule", referral.rule),
        ("neither", "not about an ear" if referral.ear == "neither" else None),
        ("told by", referral.told_by),
        ("told at", to_datetime(referral.told_at) if referral.told_at else None),
        ("told to", referral.told_to),
        ("agreed", referral.agreed),
        ("receipt", referral.receipt),
    )
    return [fixed("referral", kind, words) for kind, words in told if words]
