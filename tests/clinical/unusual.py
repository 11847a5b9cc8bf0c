"""Clean visits that are out of the ordinary: each has something that a careful colleague knows and leaves alone."""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

from tests.clinical.day import Day, Visit, measure

SIDES = ("right", "left")
Ear = dict[str, Any]
Change = Callable[[random.Random, Visit, Ear, Day], None]
CAUTIONS = ("epilepsy", "faints easily", "heart disease", "stroke", "eczema", "flying soon")


def unusual(rng: random.Random, visit: Visit, day: Day, sides: list[str]) -> None:
    """Makes one thing of a visit whose ears were cleared by suction out of the ordinary."""
    ear = visit[rng.choice(sides)]
    rng.choice(CHANGES)(rng, visit, ear, day)


def _exams(ear: Ear) -> list[dict[str, Any]]:
    return [exam for exam in (ear["before"], ear["after"]) if exam.get("canal") != "not seen (wax)"]


def exostoses(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    bony = {"term": "exostoses", "place": {"walls": ["anterior wall", "posterior wall"]}, "percent": 30}
    for exam in _exams(ear):
        exam["canal"] = [bony]
    ear["history"] = [{"term": "swimmer"}, "no perforation", "no ear surgery"]
    ear["work"][0]["why"] = "Narrow bony canal: fine end, and no instruments."
    ear["impressions"] = ["impacted wax", {"term": "exostoses", "standing": True}]


def old_hole(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    hole = {"term": "central perforation", "place": {"parts": ["anteroinferior"]}, "percent": 15, "moisture": "dry"}
    ear["after"]["drum"] = [hole]
    ear["history"] = [{"term": "perforation", "date": day.year(365 * 4), "note": "Known to ENT, dry ever since."}]
    ear["work"][0] |= {"why": "Known dry hole: suction under the microscope by somebody trained for it, no water."}
    ear["work"][0].pop("products", None)
    ear.pop("hearing_after", None)
    ear["impressions"] = [{"term": "perforation", "standing": True}]
    visit.pop("softeners", None)


def aid_part(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    ear["before"]["contents"] = ["hearing aid dome"]
    ear["after"]["contents"] = ["none"]
    ear["hearing_aid"] = {"style": "RIC"}
    ear["work"][0]["note"] = "The dome came out with the wax, whole; shown to the client."


def dead_skin(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    ear["before"]["contents"] = [rng.choice(("dead skin", "squamous debris", "keratin"))]
    ear["after"]["contents"] = ["none"]


def short_words(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    ear["after"] |= {"canal": ["NAD"], "drum": [rng.choice(("TM NAD", "TM intact", "NAD"))]}
    ear["before"]["wax"] = {"amount": rng.choice(("+++", "impacted wax")), "consistency": ["hard"]}
    ear["symptoms"] = [{"term": rng.choice(("bunged up", "blocked"))}, "no otalgia", "no d/c", "denies vertigo"]


def slow_in_both(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    """Hears badly for years, with aids; the wax was only in the way of them."""
    if visit["client"]["birth_date"] > "1965":
        return
    loss = {"term": "gradual hearing loss", "onset": day.year(365 * 6), "developed_over": measure(4, "a")}
    for side in SIDES:
        kept = [s for s in visit[side].get("symptoms", []) if isinstance(s, str) and s != "no symptoms"]
        visit[side]["symptoms"] = [loss, *kept]
        visit[side]["hearing_aid"] = {"style": "BTE"}
        for name in ("hearing_before", "hearing_after"):
            visit[side].pop(name, None)
        visit[side]["impressions"] = [{"term": "presbycusis", "standing": True}]
        if "after" in visit[side]:
            visit[side]["hearing_change"] = "same"
    visit.pop("weber", None)
    visit["reasons"] = ["before hearing test"]
    visit["follow_up"] = {
        "plan": "hearing test and new settings of both aids",
        "due": day.ahead(7),
        "reason": "slow loss",
    }


def two_tries(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    ear["work"][0] |= {"attempts": 2, "note": "Oil put in, ten minutes' wait, then it came out."}


def oil_for_long(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    visit["softeners"] = [
        {"name": "olive oil", "dose": "2 drops at night", "when": "used before", "start": day.ago(12)}
    ]


def other_allergy(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    visit["allergies"] = [{"term": "almond", "reaction": "swelling of the lips"}]
    for side in SIDES:
        for work in visit[side].get("work", []):
            work["products"] = []
    visit["softeners"] = [{"name": "sodium bicarbonate", "when": "used before", "start": day.ago(4)}]


def long_ago(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    past = rng.choice(("otitis externa", "ear infection", "grommet"))
    ear["history"] = [{"term": past, "date": day.year(365 * 4), "ended": day.year(365 * 3)}, "no perforation"]


def old_ringing(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    for side in SIDES:
        kept = [s for s in visit[side].get("symptoms", []) if s not in ("no symptoms", "no tinnitus")]
        mild = {"term": "tinnitus", "onset": day.year(365 * 5), "severity": "mild", "note": "Both ears, as ever."}
        visit[side]["symptoms"] = [*kept, mild]
    visit["consent"]["explained"] = [
        "noise",
        "new or worse tinnitus",
        "incomplete removal",
        "alternative: no treatment",
    ]


def standing(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    age = day.start.year - int(visit["client"]["birth_date"][:4])
    if age >= 55:
        visit["cautions"] = [rng.choice(CAUTIONS)]
    elif 19 <= age < 45 and visit["client"]["sex"] == "female":
        visit["cautions"] = ["pregnant"]


CHANGES: tuple[Change, ...] = (
    exostoses, old_hole, aid_part, dead_skin, short_words, slow_in_both, two_tries, oil_for_long, other_allergy,
    long_ago, old_ringing, standing,
)  # fmt: skip
