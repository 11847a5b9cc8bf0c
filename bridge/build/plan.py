"""What comes next: advice given (Communication), follow-up (CarePlan)."""

from __future__ import annotations

from bridge.build.context import Context
from bridge.build.observation import observe
from bridge.build.related_person import receivers
from bridge.fhir.elements import concept
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
                "recipient": receivers(context, advice.to),
                **({"sender": context.practitioners[0]} if context.practitioners else {}),
                "payload": [{"contentString": advice.term.text}],
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
