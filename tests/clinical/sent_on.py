"""Clean visits at which something was found that wants another service: with the referral that goes with it.

Urgency and destination as the publications ask for them: NICE NG98 1.1; Herts and West Essex otitis externa pathway;
Primary care referral criteria 2021; South East London ENT guidelines 2023; NSW Health ENT emergencies.
"""

from __future__ import annotations

import random
from typing import Any

from tests.clinical import ears, people, works
from tests.clinical.complaints import quiet_past
from tests.clinical.day import Day, Visit, measure

SIDES = ("right", "left")
RED = ("no pain", "no discharge", "no vertigo", "no facial weakness")


def sent_on(rng: random.Random, visit: Visit, day: Day, age: int) -> None:
    """One ear with a finding for somebody else, the other well."""
    side, other = rng.sample(SIDES, 2)
    device = rng.choice(("microscope", "endoscope"))
    story = rng.choice(FINDINGS if age >= 18 else FINDINGS[4:])
    ear, sent = story(rng, day)
    seen = {
        "view": ears.view(rng, "full", None, device),
        "wax": "none",
        "canal": "normal",
        "drum": ["intact", "pearl grey"],
    }
    ear["before"] = seen | ear.get("before", {})
    ear.setdefault("history", quiet_past(rng, day))
    ear.setdefault("work", [works.untouched(rng, "for ENT")])
    visit[side] = ear
    visit[other] = {"symptoms": ["no symptoms"], "before": ears.healthy(rng, device)}
    visit["reasons"] = [ear["symptoms"][0]["term"]]
    visit["referral"] = referral(rng, day, side, sent)
    visit["sharing"] = people.sharing(rng, day, sent["to"], images=False)
    if sent["urgency"] == "immediate":
        visit["advice"][-1:-1] = [{**visit["advice"][0], "term": "go to A&E"}]
    visit["follow_up"] = {"plan": "call to hear that they were seen", "due": day.ahead(1), "reason": "sent on"}
    visit.pop("weber", None)


def referral(rng: random.Random, day: Day, side: str, sent: dict[str, Any]) -> dict[str, Any]:
    told: dict[str, Any] = {
        "to": sent["to"],
        "recipient": {"name": "Aldersby Ear Service"},
        "urgency": sent["urgency"],
        "rule": sent["rule"],
        "reason": sent["reason"],
        "question": "Please see, find the cause and treat.",
        "ear": side,
        "client_told": "Why, where to go and by when; to go to the emergency department if it gets worse.",
        "told_by": "letter",
        "told_at": day.at(38),
    }
    if sent["urgency"] == "immediate":
        told |= {"told_by": "phone", "told_at": day.at(30), "told_to": "ENT doctor on call", "agreed": "To come today.",
                 "receipt": "taken by phone"}  # fmt: skip
    return told


Story = tuple[dict[str, Any], dict[str, Any]]


def _sent(to: str, urgency: str, rule: str, reason: str) -> dict[str, Any]:
    return {"to": to, "urgency": urgency, "rule": rule, "reason": reason}


def sudden(rng: random.Random, day: Day) -> Story:
    days = rng.randint(3, 29)
    loss = {"term": "sudden hearing loss", "onset": day.ago(days), "developed_over": measure(rng.choice((6, 12)), "h"),
            "severity": "severe"}  # fmt: skip
    ear = {"symptoms": [loss, *RED], "impressions": ["?sudden sensorineural hearing loss"],
           "hearing_before": {"rinne": "positive"}}  # fmt: skip
    return ear, _sent("emergency ENT", "immediate", "RF01", "Hearing lost within a day; clear canal, normal drum.")


def sudden_long_ago(rng: random.Random, day: Day) -> Story:
    loss = {"term": "sudden hearing loss", "onset": day.ago(rng.randint(35, 90)), "developed_over": measure(1, "d"),
            "severity": "moderate"}  # fmt: skip
    ear = {"symptoms": [loss, *RED], "impressions": ["?sensorineural hearing loss"]}
    return ear, _sent("ENT", "urgent", "RF02", "Hearing lost within a day, more than a month ago; nothing in the ear.")


def within_weeks(rng: random.Random, day: Day) -> Story:
    loss = {"term": "reduced hearing", "onset": day.ago(rng.randint(45, 80)), "developed_over": measure(5, "wk"),
            "severity": "moderate"}  # fmt: skip
    ear = {"symptoms": [loss, *RED], "impressions": ["?sensorineural hearing loss"]}
    return ear, _sent(
        rng.choice(("ENT", "AVM")), "urgent", "RF03", "Hearing went down within weeks; nothing in the ear."
    )


def pulsating(rng: random.Random, day: Day) -> Story:
    ear = {"symptoms": [{"term": "pulsatile tinnitus", "onset": day.ago(120), "severity": "moderate"}, *RED]}
    return ear, _sent("ENT", "routine", "RF09", "Pulsating tinnitus of one ear for months; the ear looks well.")


def necrotising(rng: random.Random, day: Day) -> Story:
    ear = {
        "symptoms": [{"term": "night pain", "onset": day.ago(21), "severity": "severe", "score": 9}, "no vertigo",
                     {"term": "purulent discharge", "onset": day.ago(18)}, "no facial weakness"],
        "before": {"canal": ["granulation", "swollen"], "contents": ["pus"], "drum": "not seen (discharge)",
                   "view": {"achieved": "partial", "reason": "discharge", "device": "microscope"}},
        "impressions": ["?necrotising otitis externa"],
    }  # fmt: skip
    return ear, _sent("emergency ENT", "immediate", "RF11", "Severe night pain, granulation in the canal: necrotising?")


def mastoid(rng: random.Random, day: Day) -> Story:
    ear = {
        "symptoms": [{"term": "swelling behind ear", "onset": day.ago(2), "severity": "moderate"},
                     {"term": "pain", "onset": day.ago(4), "severity": "severe", "score": 8}, "no facial weakness"],
        "before": {"outer_ear": ["mastoid swelling"], "drum": ["bulging", "red"]},
        "impressions": ["?mastoiditis"],
    }  # fmt: skip
    return ear, _sent("emergency ENT", "immediate", "RF12", "Swelling behind the ear with a red, bulging drum.")


def crust(rng: random.Random, day: Day) -> Story:
    ear = {
        "symptoms": [{"term": "foul discharge", "onset": day.ago(60), "severity": "mild"}, "no vertigo",
                     "no facial weakness", "no pain"],
        "before": {"drum": [{"term": "attic crust", "place": {"parts": ["pars flaccida"]}}]},
        "impressions": ["?cholesteatoma"],
    }  # fmt: skip
    return ear, _sent("ENT", rng.choice(("urgent", "urgent")), "RF17", "Foul discharge and a crust in the attic.")


def foreign(rng: random.Random, day: Day) -> Story:
    ear = {
        "symptoms": [{"term": "something in ear", "onset": day.ago(1)}, *RED],
        "before": {"contents": [rng.choice(("bead", "foreign body"))], "drum": "not seen (foreign body)",
                   "view": {"achieved": "partial", "reason": "foreign body", "device": "microscope"}},
        "impressions": ["foreign body"],
    }  # fmt: skip
    return ear, _sent(
        "emergency ENT", "immediate", "RF15", "Something deep in the canal; not touched, doctor on call told."
    )


def lesion(rng: random.Random, day: Day) -> Story:
    ear = {
        "symptoms": [
            {"term": "bleeding", "onset": day.ago(50), "severity": "mild"},
            "no vertigo",
            "no facial weakness",
        ],
        "before": {"canal": ["ulcer", "lesion"]},
        "impressions": ["suspicious lesion"],
    }
    return ear, _sent("2WW", "urgent", "local cancer pathway", "A sore in the canal that bleeds and does not heal.")


FINDINGS = (sudden, sudden_long_ago, within_weeks, pulsating, necrotising, mastoid, crust, foreign, lesion)
