"""Faults: what the record of such a visit has to say and does not."""

from __future__ import annotations

import random

from tests.clinical.changing import SIDES, healthy_ear, kind, worked_on
from tests.clinical.day import Visit
from tests.clinical.people import RISKS

PARTIAL, STOPPED, NONE = ("partial", "partially cleared"), ("stopped", "abandoned"), ("none removed", "no wax removed")
TRADE = "common practice"


def _without(
    rng: random.Random, visit: Visit, *names: str, ways: tuple[str, ...] = (), **outcome: tuple[str, ...]
) -> Visit | None:
    """A piece of work without these fields."""
    done = worked_on(rng, visit, *ways, **outcome)
    if not done or not any(name in done[1] for name in names):
        return None
    for name in names:
        done[1].pop(name, None)
    return visit


@kind("left-out.why-stopped", "stopped, and no reason", f"1.11; {TRADE}", left_out=True)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit, outcome=STOPPED)
    if not done:
        return None
    done[1].pop("outcome_reason")
    done[1].update({"tolerance": "some discomfort", "events": ["no bleeding"], "pain_peak": 2, "pain_after": 0})
    return visit


@kind("left-out.why-partial", "partial, and no reason", f"1.11; {TRADE}", left_out=True)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    return _without(rng, visit, "outcome_reason", outcome=PARTIAL)


@kind("left-out.why-none", "nothing taken out, and no reason", f"1.11; {TRADE}", left_out=True)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    return _without(rng, visit, "outcome_reason", outcome=NONE)


@kind("left-out.what-remains", "partial, and nobody says what is left", "issue 6.4; common practice", left_out=True)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit, outcome=PARTIAL)
    if not done:
        return None
    del done[0]["after"]
    return visit


@kind("left-out.plan", "partial, and nothing is to follow", "issue 6.4; common practice", left_out=True)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    if not worked_on(rng, visit, outcome=PARTIAL):
        return None
    visit.pop("follow_up")
    visit["advice"] = [a for a in visit["advice"] if a["term"] in ("no cotton buds", "keep dry", "safety net")]
    return visit


@kind(
    "left-out.event-done",
    "something happened, and nobody says what was done",
    "issue 6.4; common practice",
    left_out=True,
)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit)
    if not done:
        return None
    done[1]["events"] = [{"term": rng.choice(("bleeding", "dizzy", "fainted")), "severity": "moderate"}]
    return visit


@kind("left-out.hole-plan", "a hole made, and nothing is to follow", f"1.11; {TRADE}", left_out=True)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit)
    if not done:
        return None
    done[1]["events"] = [{"term": "perforation", "severity": "moderate", "done": "Stopped."}]
    done[0]["after"]["drum"] = [{"term": "perforation", "how": "caused"}]
    visit.pop("follow_up")
    return visit


@kind("left-out.before", "worked on, and nobody looked before", f"1.1, 1.5; {TRADE}", left_out=True)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit)
    if not done:
        return None
    del done[0]["before"]
    return visit


@kind("left-out.outcome", "worked on, and no outcome", f"1.11; {TRADE}", left_out=True)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    return _without(rng, visit, "outcome")


@kind("left-out.instrument", "worked on, and not with what", f"1.10; {TRADE}", left_out=True)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    return _without(rng, visit, "instruments", ways=("suction", "tools"))


@kind("left-out.tolerance", "worked on, and nothing of how it was borne", f"1.11; {TRADE}", left_out=True)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    if not worked_on(rng, visit):
        return None
    for side in SIDES:
        for work in visit[side].get("work", []):
            for name in ("tolerance", "pain_before", "pain_peak", "pain_after", "note"):
                work.pop(name, None)
    return visit


@kind("left-out.set-or-reached", "a pressure of suction, and not how it was read", f"1.10; {TRADE}", left_out=True)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit, "suction")
    if not done:
        return None
    done[1]["suction"].pop("taken")
    return visit


@kind("left-out.temperature", "irrigation, and not how warm", "1.10, 2.2; Royal Marsden manual 9.13", left_out=True)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit, "water")
    if not done:
        return None
    done[1]["irrigation"].pop("temperature")
    return visit


@kind(
    "left-out.softener", "irrigation, and nothing of a softener before", "2.1, 2.2; NICE NG98 as quoted", left_out=True
)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    if not worked_on(rng, visit, "water"):
        return None
    visit.pop("softeners", None)
    return visit


@kind("left-out.batch", "drops put in, without batch and expiry", f"1.10; {TRADE}", left_out=True)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit)
    if not done or not done[1].get("products"):
        return None
    for name in ("batch", "expiry"):
        done[1]["products"][0].pop(name)
    return visit


@kind("left-out.consent", "worked on, and nothing of consent", f"1.4; {TRADE}", left_out=True)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    if not worked_on(rng, visit):
        return None
    visit.pop("consent")
    return visit


@kind("left-out.risks", "consent without what was explained", f"1.4; {TRADE}", left_out=True)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    if not worked_on(rng, visit):
        return None
    visit["consent"].pop("explained")
    return visit


@kind("left-out.who-decided", "no capacity, and not who decided", f"1.4; {TRADE}", left_out=True)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    if visit.get("consent", {}).get("status") != "best interests":
        return None
    for name in ("given_by", "note"):
        visit["consent"].pop(name, None)
    return visit


@kind("consent.refused", "refused, and done all the same", f"1.4; {TRADE}")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    if not worked_on(rng, visit):
        return None
    visit["consent"] |= {"status": "refused", "explained": [RISKS[0]]}
    return visit


@kind("consent.withdrawn", "withdrawn, and complete all the same", f"1.4; {TRADE}")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    if not worked_on(rng, visit):
        return None
    visit["consent"] |= {"status": "withdrawn"}
    visit["consent"].pop("note", None)
    return visit


@kind("consent.child", "a child treated without anybody who may agree for it", f"1.4; {TRADE}", left_out=True)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    if not worked_on(rng, visit) or not visit["client"].get("guardians"):
        return None
    del visit["client"]["guardians"]
    visit["consent"].pop("given_by", None)
    visit["consent"].pop("capacity", None)
    return visit


@kind(
    "left-out.why-not-shared",
    "sharing refused or not asked, and no reason",
    "1.4; ITK3 outpatient letter",
    left_out=True,
)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    if not worked_on(rng, visit) or "reason" not in visit["sharing"]:
        return None
    visit["sharing"].pop("reason")
    return visit


@kind("left-out.safety-net", "no word of the signs to come back for", "1.12; BSA aural care 2021", left_out=True)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    if not worked_on(rng, visit):
        return None
    visit["advice"] = [a for a in visit["advice"] if not a.get("safety_net")]
    return visit


@kind("left-out.speed", "hearing went down, and not since when or how fast", "1.2, 2.6; NICE NG98 1.1.2", left_out=True)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    for side in SIDES:
        symptoms = visit.get(side, {}).get("symptoms", [])
        if symptoms and isinstance(symptoms[0], dict) and "developed_over" in symptoms[0] and "referral" not in visit:
            if "after" in visit[side] and visit[side]["work"][0]["outcome"] in ("complete", "completed", "cleared"):
                continue
            symptoms[0].pop("developed_over")
            symptoms[0].pop("onset")
            symptoms[0]["term"] = "hearing loss"
            return visit
    return None


@kind(
    "left-out.referral-onset", "sent on, and not since when", "3.4; local committee advice on referrals", left_out=True
)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    if "referral" not in visit or visit["referral"]["rule"] not in ("RF01", "RF02", "RF03"):
        return None
    for symptom in visit[visit["referral"]["ear"]]["symptoms"]:
        if isinstance(symptom, dict):
            symptom.pop("onset", None)
            symptom.pop("developed_over", None)
    return visit


@kind("left-out.why-not-seen", "an ear not seen, and no reason", "1.5, 1.8; common practice", left_out=True)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    ear = healthy_ear(rng, visit)
    if not ear:
        return None
    ear["before"]["view"] = rng.choice(("partial", {"achieved": "partial", "device": "otoscope"}))
    ear["before"]["drum"] = "not seen"
    return visit


@kind("left-out.allergies", "drops put in, and nobody asked for allergies", f"1.3; {TRADE}", left_out=True)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit)
    if not done or not done[1].get("products"):
        return None
    visit.pop("allergies")
    return visit


@kind("left-out.images", "pictures taken, and no consent to them", "1.4; common practice", left_out=True)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    if not any(visit.get(side, {}).get("images") for side in SIDES) or "consent" not in visit:
        return None
    visit["consent"].pop("note", None)
    if "scope" in visit["sharing"]:
        visit["sharing"]["scope"] = ["visit summary"]
    return visit
