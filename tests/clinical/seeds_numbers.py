"""Faults: numbers, units, dates and measurements that cannot be right or are out of step with each other."""

from __future__ import annotations

import random
from typing import Any

from tests.clinical.changing import SIDES, Ear, caution, kind, worked_on
from tests.clinical.day import Visit, measure, mm, of_visit

RANGES = "6.8; derived range rules"


def _suction(rng: random.Random, visit: Visit, **values: Any) -> Visit | None:
    done = worked_on(rng, visit, "suction", "both")
    if not done:
        return None
    done[1]["suction"] |= values
    return visit


@kind("number.vacuum-unit", "a pressure that is beyond a vacuum: mmHg called kPa", RANGES)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    return _suction(rng, visit, pressure=measure(rng.choice((120, 150, 200)), "kPa"))


@kind("number.vacuum-low", "a pressure that moves nothing: kPa called mmHg", RANGES)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    return _suction(rng, visit, pressure=measure(rng.choice((10, 13, 16)), "mm[Hg]"))


@kind("number.vacuum-high", "a pressure far over what is usual", RANGES)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    return _suction(rng, visit, pressure=measure(rng.choice((350, 450, 600)), "mm[Hg]"))


@kind("number.suction-long", "suction for longer than a visit lasts", RANGES)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    return _suction(rng, visit, time=measure(rng.choice((1200, 2400, 5000)), "s"))


@kind("number.water", "water that is too cold or too hot", "2.2, 6.8; Royal Marsden manual 9.13")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit, "water")
    if not done:
        return None
    done[1]["irrigation"]["temperature"] = measure(rng.choice((20, 25, 30, 34, 35.5, 38.5, 39.5, 42, 50)), "Cel")
    return visit


@kind("number.depth-cm", "a depth in cm called mm", RANGES)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    return _depth(rng, visit, "inner third", rng.choice((1.6, 1.8, 2.2)))


@kind("number.depth", "a depth beyond the canal", "6.1, 6.8; derived range rules")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    return _depth(rng, visit, "inner third", rng.choice((31, 34, 40, 120)))


def _depth(rng: random.Random, visit: Visit, third: str, depth: float) -> Visit | None:
    done = worked_on(rng, visit, "suction")
    if not done:
        return None
    done[0]["before"]["wax"]["place"] = {"third": third, "depth": mm(depth)}
    return visit


@kind("number.duration", "work that lasted no time, or hours", RANGES)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit)
    if not done:
        return None
    done[1]["duration"] = measure(rng.choice((0, 75, 110, 180)), "min")
    return visit


@kind("number.expired", "drops used that had expired", RANGES)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    return _expiry(rng, visit, -rng.randint(1, 400))


@kind("number.expires-soon", "drops used that expire within a month", RANGES)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    return _expiry(rng, visit, rng.randint(1, 29))


def _expiry(rng: random.Random, visit: Visit, days: int) -> Visit | None:
    done = worked_on(rng, visit, "suction", "tools", "both")
    if not done or not done[1].get("products"):
        return None
    done[1]["products"][0]["expiry"] = of_visit(visit).ahead(days)
    return visit


@kind("number.pain", "pain at its worst smaller than the pain before or after", "1.11; arithmetic")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit)
    if not done:
        return None
    done[1].update({"pain_peak": 1, rng.choice(("pain_before", "pain_after")): rng.randint(3, 5)})
    return visit


def _tested(rng: random.Random, visit: Visit) -> Ear | None:
    ears = [visit[side] for side in SIDES if "hearing_after" in visit.get(side, {}) and "referral" not in visit]
    return rng.choice(ears) if ears else None


@kind("hearing.step", "a threshold between the steps of five", RANGES)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    ear = _tested(rng, visit)
    if not ear:
        return None
    threshold = rng.choice(ear["hearing_after"]["thresholds"])
    threshold["level"] += rng.choice((1, 2, 3, 4))
    return visit


@kind("hearing.range", "a threshold that no audiometer gives", RANGES)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    ear = _tested(rng, visit)
    if not ear:
        return None
    ear["hearing_after"]["thresholds"][rng.randrange(1, 5)]["level"] = rng.choice((-15, -20, 125, 130))
    return visit


@kind("hearing.out-of-step", "one frequency far from both beside it", "issue 6.3; common practice")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    ear = _tested(rng, visit)
    if not ear:
        return None
    air = [t for t in ear["hearing_after"]["thresholds"] if t["conduction"] == "air"]
    where = rng.randrange(1, 5)
    air[where]["level"] = max(air[where - 1]["level"], air[where + 1]["level"]) + rng.choice((50, 60))
    return visit


@kind("hearing.bone-worse", "heard better through the air than through the bone", "1.9; common practice")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    ear = _tested(rng, visit)
    if not ear:
        return None
    for threshold in ear["hearing_after"]["thresholds"]:
        if threshold["conduction"] == "bone":
            threshold["level"] += 30
    return visit


@kind("hearing.against-words", "said to hear better, measured far worse than before", "1.9, 1.11; arithmetic")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    ear = _tested(rng, visit)
    if not ear or "hearing_change" not in ear:
        return None
    ear["hearing_after"] = {"thresholds": [dict(t) for t in ear["hearing_before"]["thresholds"]]}
    for threshold in ear["hearing_after"]["thresholds"]:
        if threshold["conduction"] == "air":
            threshold["level"] = min(threshold["level"] + 20, 120)
    return visit


def _tympanometry(rng: random.Random, visit: Visit, **values: Any) -> Visit | None:
    ears = [visit[side] for side in SIDES if "tympanometry" in visit.get(side, {}).get("hearing_after", {})]
    if not ears or "referral" in visit:
        return None
    rng.choice(ears)["hearing_after"]["tympanometry"] |= values
    return visit


@kind("hearing.pressure", "a pressure of the middle ear outside what is measured", RANGES)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    return _tympanometry(rng, visit, peak_pressure=measure(rng.choice((-450, -600, 220, 300)), "daPa"), type="C")


@kind("hearing.admittance", "a movement of the drum outside what is measured", RANGES)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    return _tympanometry(rng, visit, admittance=measure(rng.choice((3, 5, 12)), "cm3"), type="Ad")


@kind("hearing.type", "type A with a pressure that makes it type C", "6.6; BSA tympanometry as quoted")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    return _tympanometry(rng, visit, peak_pressure=measure(rng.choice((-250, -300, -350)), "daPa"))


@kind("date.onset", "a symptom that began after the visit", "5.1 I20")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit)
    if not done or "onset" not in done[0]["symptoms"][0]:
        return None
    done[0]["symptoms"][0]["onset"] = of_visit(visit).ahead(rng.randint(3, 300))
    return visit


@kind("date.history", "an event of the past that lies in the future", "5.1 I20")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit)
    if not done:
        return None
    past = {"term": "microsuction", "date": of_visit(visit).ahead(rng.randint(5, 300))}
    done[0]["history"] = [*(h for h in done[0]["history"] if h != "none"), past]
    return visit


@kind("date.softener", "drops used before the visit that were begun after it", "5.1 I20")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    if not visit.get("softeners"):
        return None
    visit["softeners"][0]["start"] = of_visit(visit).ahead(rng.randint(2, 60))
    return visit


@kind("date.consent", "consent dated after the work", "issue 6.3; common practice")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    if not worked_on(rng, visit):
        return None
    visit["consent"]["at"] = rng.choice((of_visit(visit).at(45 + rng.randint(1, 60)), of_visit(visit).ahead(1)))
    return visit


@kind("date.image", "a picture of another day", "5.1 I20")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    ears = [visit[side] for side in SIDES if visit.get(side, {}).get("images")]
    if not ears:
        return None
    rng.choice(ears)["images"][0]["taken_at"] = of_visit(visit).at(-60 * 24 * rng.randint(2, 40))
    return visit


@kind("date.age", "a date of birth that nobody has, or a child's note on an adult", "5.1 I32")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    if not worked_on(rng, visit) or visit["client"].get("guardians") or visit["client"]["birth_date"] > "1998":
        return None
    if rng.random() < 0.5:
        visit["client"]["birth_date"] = f"{rng.choice((1852, 1878, 1890))}-03-04"
    else:
        caution(visit, "child")
    return visit
