"""What comes next, in plain words: advice, the next visit, a referral, what the family doctor is asked."""

from __future__ import annotations

import re

from bridge.fhir.own import own_code
from bridge.fhir.plain.lay import as_said, lay, noted, plan_words, quoted
from bridge.fhir.tell.referral import is_referral
from bridge.fhir.tell.words import day, moment, sentence, upper_first
from bridge.phrases import interval
from bridge.shapes import Json
from bridge.wording import language, say, say_number

_SOON = {"stat": "immediate", "urgent": "urgent", "asap": "urgent", "routine": "routine"}


def helpers(what: str, region: str) -> str:
    """Where to get help in a region: `emergency`, or `urgent` for what cannot wait till the clinic is open. A region of
    which nothing is known has no number of its own."""
    known = f"copy.{what}.{region}" in language().words
    return say(f"copy.{what}.{region if known else 'international'}")


def advice(communication: Json) -> str:
    """Advice as it was given: plain words where the term is known and they say as much, and the words that the client
    heard where those say when, or on which condition."""
    if communication.get("status") == "not-done":
        return ""
    topic = communication.get("topic") or {}
    code, text = own_code(topic) or "", str(topic.get("text") or "")
    plain = language().words.get(f"copy.word.{code}")
    how = as_said(text, code)
    if not plain or (text and how == "instead"):
        return sentence(text)
    return f"{sentence(plain)} {say('copy.now.said', what=text)}" if how == "beside" else sentence(plain)


def follow_up(plan: Json) -> list[str]:
    """When to come again, and our note on it."""
    found = []
    for activity in plan.get("activity", ()):
        detail = activity.get("detail", {})
        due = str(detail.get("scheduledPeriod", {}).get("start", ""))
        told = noted(str(detail.get("description") or ""))
        found += [say("copy.next.follow-up.due", day=upper_first(moment(due)))] if due else _in(detail)
        found += [say("copy.next.follow-up.noted", what=told.words)] if told.how == "noted" else []
        found += [say("copy.next.follow-up.kept")] if told.how == "kept" and not due else []
    return found


def _in(detail: Json) -> list[str]:
    """How long until then, where our note names a time in the shorthand of the trade (6/12 is six months), or that it
    is for the client to say."""
    plan = str(detail.get("description") or "")
    time = interval(plan)
    if time and time[1] in _UNITS:
        return [say_number(f"copy.in.{time[1]}", time[0])]
    said = [] if re.search(r"\d", plan) else plan_words(plan)
    return [say(f"copy.next.follow-up.{key}") for key in said]


_UNITS = ("d", "wk", "mo", "a")


def receiver(request: Json) -> str:
    """The kind of place, and its name where that gives nothing away: `a hearing clinic (…)`."""
    named = next((str(p["display"]) for p in request.get("performer", ()) if p.get("display")), "")
    plain = lay(request.get("code"))
    what = (
        plain.words
        if plain.how == "named"
        else quoted(plain.words)
        if plain.how == "noted"
        else say("copy.whom.clinic")
    )
    shown = noted(named)
    careful = own_code(request.get("code")) == "referral-cancer" or shown.how != "noted"
    return what if careful else say("copy.whom.named", what=what, name=shown.words)


def referral(request: Json) -> list[str]:
    """Who will see the client and how soon; what they were told, word for word."""
    soon = _SOON.get(str(request.get("priority", "routine")), "routine")
    end = str(request.get("occurrencePeriod", {}).get("end", ""))
    told = str(request.get("patientInstruction") or "")
    return [
        upper_first(say(f"copy.next.referral.{soon}", whom=receiver(request))),
        *([say("copy.next.referral.by", day=moment(end))] if end else []),
        *([say("copy.next.told.said", what=told.strip().rstrip("."))] if told else []),
    ]


def asked(request: Json) -> list[str]:
    """What the family doctor is asked to do, where the words may be repeated."""
    if is_referral(request):
        return []
    task = request["resourceType"] == "Task"
    action = str((request.get("description") if task else (request.get("code") or {}).get("text")) or "")
    period = request.get("restriction", {}).get("period", {}) if task else request.get("occurrencePeriod", {})
    told, end = noted(action), str(period.get("end") or "")
    said = say("copy.next.doctor.asked", what=told.words) if told.how == "noted" else say("copy.next.doctor.kept")
    return [said, *([say("copy.next.doctor.by", day=day(end))] if end else [])]
