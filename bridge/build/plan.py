"""What comes next: advice given (Communication), follow-up (CarePlan), asks of the family doctor (ServiceRequest)."""

from __future__ import annotations

from bridge.build.context import Context, Json
from bridge.build.observation import observe
from bridge.fhir.elements import concept, ear_site
from bridge.fhir.ids import reference
from bridge.fhir.own import fixed
from bridge.fhir.times import to_datetime
from bridge.nothing_words import says_nothing


def build_advice(context: Context) -> None:
    """A Communication for each; `not-done`, and with no moment, where the words say that nothing was advised."""
    for index, advice in enumerate(context.visit.advice):
        given = not says_nothing("advice", advice.term.text)
        topics = [fixed("advice", "advice")]
        topics += [fixed("advice", "safety net")] if advice.safety_net else []
        topics += [fixed("advice", "understood" if advice.understood else "not understood")] * (
            advice.understood is not None
        )
        remarks: list[Json] = [{"text": advice.to}] if advice.to else []
        context.make(
            "advice",
            "Communication",
            ("advice", index),
            {
                "identifier": context.fact_identifier("advice", index),
                "status": "completed" if given else "not-done",
                "category": topics,
                **({"medium": [fixed("advice", "form", advice.form)]} if advice.form else {}),
                "subject": context.patient,
                "topic": concept(advice.term),
                "encounter": context.encounter,
                **({"sent": to_datetime(context.visit.start)} if given else {}),
                "recipient": [context.patient],
                **({"sender": context.practitioners[0]} if context.practitioners else {}),
                "payload": [{"contentString": advice.term.text}],
                **({"note": remarks} if remarks else {}),
            },
        )


def build_follow_up(context: Context) -> None:
    """A CarePlan; where the plan is that none is needed, an Observation that says so and no active plan."""
    plan = context.visit.follow_up
    if plan is None:
        return
    if says_nothing("follow_up", plan.plan) and plan.due is None:
        observe(context, "no-follow-up", (), {"valueString": plan.plan}, [], note=plan.reason)
        return
    activity = {
        "status": "not-started",
        "code": fixed("plan", "follow-up"),
        **({"reasonCode": [{"text": plan.reason}]} if plan.reason else {}),
        **({"scheduledPeriod": {"start": to_datetime(plan.due)}} if plan.due else {}),
        **({"performer": [context.clinic]} if context.visit.clinic else {}),
        "description": plan.plan,
    }
    context.make(
        "follow-up",
        "CarePlan",
        ("follow-up",),
        {
            "identifier": context.fact_identifier("follow-up"),
            "status": "active",
            "intent": "plan",
            "subject": context.patient,
            "encounter": context.encounter,
            **({"author": context.practitioners[0]} if context.practitioners else {}),
            "activity": [{"detail": activity}],
        },
    )


def build_requests(context: Context) -> None:
    visit = context.visit
    doctor = visit.family_doctor
    known = doctor is not None and doctor.answer == "known"
    receiver = [reference(b.id) for b in context.built if b.topic == "family-doctor"] if known else []
    for index, request in enumerate(visit.requests):
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
                **({"authoredOn": to_datetime(visit.recorded_at)} if visit.recorded_at else {}),
                **({"requester": context.practitioners[0]} if context.practitioners else {}),
                **({"performer": receiver} if receiver else {}),
                **({"reasonCode": [{"text": request.reason}]} if request.reason else {}),
                **({"bodySite": [ear_site(request.ear)]} if request.ear else {}),
            },
            ear=request.ear,
        )
