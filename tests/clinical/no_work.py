"""Clean visits at which no wax was taken out, or in another way than usual: each says why."""

from __future__ import annotations

import random
from typing import Any

from tests.clinical import ears, works
from tests.clinical.aftercare import recall
from tests.clinical.complaints import annoys, quiet_past
from tests.clinical.day import Day, Visit, maybe

SIDES = ("right", "left")


def well(rng: random.Random, visit: Visit, day: Day, age: int) -> None:
    """Came for a look; both ears are well."""
    visit["reasons"] = [rng.choice(("routine check", "before hearing test", "before flying", "check up"))]
    device = rng.choice(ears.DEVICES)
    for side in SIDES:
        visit[side] = {
            "symptoms": ["no symptoms"],
            **maybe(rng, 0.5, history=quiet_past(rng, day)),
            "before": ears.healthy(rng, device),
            **maybe(rng, 0.6, work=[works.nothing_to_do()]),
            **maybe(rng, 0.5, impressions=["nothing abnormal"]),
        }
        ears.old_findings(rng, visit[side]["before"])
    if age > 60 and rng.random() < 0.4:
        for side in SIDES:
            visit[side]["hearing_aid"] = {"style": rng.choice(("BTE", "RIC"))}


def declined(rng: random.Random, visit: Visit, day: Day, age: int) -> None:
    """Came, heard what would be done, and did not want it."""
    visit["reasons"] = ["wax removal"]
    who = "given_by" if age < 16 else ""
    visit["consent"] = {
        "status": "refused",
        "form": "verbal, recorded",
        "at": day.at(5),
        "taken_by": visit["practitioners"][0],
        **({who: "parent"} if who else {}),
        "explained": ["discomfort", "noise", "perforation", "alternative: softener only"],
        "capacity": "under 16; the parent decided" if who else "assumed",
        "note": "Would rather try drops first.",
    }
    for side in SIDES:
        visit[side] = {"before": "not examined (declined)"}
    visit["follow_up"] = {
        "plan": "will call if the drops do not help",
        "due": day.ahead(28),
        "reason": "chose drops first",
    }
    visit["end"] = day.at(12)


def absent(rng: random.Random, visit: Visit, day: Day, age: int) -> None:
    """Did not come."""
    visit["attendance"] = "did not attend"
    for name in ("consent", "advice", "cautions", "allergies", "medicines"):
        visit.pop(name)
    visit["end"] = day.at(15)
    visit["sharing"] = {"status": "not asked", "reason": "did not attend"}
    visit["reasons"] = ["wax removal"]
    visit["follow_up"] = {"plan": "called and booked again", "due": day.ahead(9), "reason": "missed appointment"}


def went(rng: random.Random, visit: Visit, day: Day, age: int) -> None:
    """Left before anybody looked."""
    absent(rng, visit, day, age)
    visit["attendance"] = "left before examination"
    visit["sharing"]["reason"] = "left before it could be asked"
    visit["follow_up"]["reason"] = "had to leave for a train"


def softener_first(rng: random.Random, visit: Visit, day: Day, age: int) -> None:
    """Hard wax, not tried today: oil first."""
    side, other = rng.sample(SIDES, 2)
    device = rng.choice(ears.DEVICES)
    complaint = annoys(rng, day)
    visit["reasons"] = [complaint["term"]]
    visit[other] = {"before": ears.healthy(rng, device), "work": [works.nothing_to_do()]}
    work: dict[str, Any] = works.untouched(rng, rng.choice(("needs softening", "rock hard")))
    if rng.random() < 0.5:
        work["products"] = [works.drops(rng, day, when="supplied")]
    visit[side] = {
        "symptoms": [complaint, *ears.denied(rng)],
        "history": quiet_past(rng, day),
        "before": ears.before_with_wax(rng, rng.choice(("heavy", "impacted")), "hard", "middle", device),
        "work": [work],
        "impressions": ["impacted wax"],
    }
    visit["advice"][-1:-1] = [{**visit["advice"][0], "term": "use olive oil"}]
    visit["follow_up"] = {"plan": "oil for five days, then microsuction", "due": day.ahead(8), "reason": "wax too hard"}


def no_water(rng: random.Random, visit: Visit, day: Day, age: int) -> None:
    """Booked for water; the history speaks against it, so that it was not done and suction was taken instead."""
    side, other = rng.sample(SIDES, 2)
    device = "microscope"
    visit["reasons"] = ["blocked ear"]
    visit[other] = {"before": ears.healthy(rng, device)}
    past, why = rng.choice((
        ({"term": "perforation", "date": day.year(365 * 3)}, "Perforation in the past: no water."),
        ({"term": "mucus discharge", "date": day.ago(150)}, "Mucus discharge this year: no water."),
        ({"term": "cleft palate"}, "Cleft palate: no water."),
        ({"term": "middle ear infection", "date": day.ago(25), "ended": day.ago(15)}, "Infection lately: no water."),
    ))  # fmt: skip
    suction = works.removal(rng, day, "suction", deep=False)
    water = {
        "method": "irrigation",
        "outcome": "not attempted",
        "outcome_reason": "contraindication found",
        "note": why,
    }
    suction["why"] = why + " Done by suction under sight."
    visit[side] = {
        "symptoms": [annoys(rng, day), *ears.denied(rng)],
        "history": [past],
        "before": ears.before_with_wax(rng, "heavy", "soft", "middle", device),
        "work": [water, suction] if rng.random() < 0.5 else [suction],
        "after": ears.cleared(rng, device),
        "hearing_change": "better",
        "impressions": ["impacted wax"],
    }
    visit["follow_up"] = recall(rng, day)


def cavity(rng: random.Random, visit: Visit, day: Day, age: int) -> None:
    """An old open mastoid cavity, dry, cleared by suction by somebody trained for it."""
    side, other = rng.sample(SIDES, 2)
    device = "microscope"
    visit["reasons"] = ["routine ear care"]
    visit["cautions"] = [{"term": "mastoid cavity", "ear": side}]
    visit[other] = {"symptoms": ["no symptoms"], "before": ears.healthy(rng, device)}
    work = works.removal(rng, day, "suction", deep=False)
    work["method"] = rng.choice(("mastoid cavity clearance", "microsuction"))
    work["why"] = "Open cavity that wants clearing every half year; trained for it, done under the microscope."
    visit[side] = {
        "symptoms": [{"term": "blocked", "onset": day.ago(40)}, *ears.denied(rng, True)],
        "history": [{"term": "canal wall down mastoidectomy", "date": day.year(365 * 4)}],
        "before": {
            "view": ears.view(rng, "partial", "wax", device),
            "wax": {"amount": "moderate", "percent": 60, "consistency": ["soft"]},
            "mastoid_cavity": ["open", "dry"],
            "drum": "not seen (wax)",
        },
        "work": [work],
        "after": {"view": ears.view(rng, "full", None, device), "wax": "none", "mastoid_cavity": ["open", "dry"],
                  "drum": ["graft", "intact"]},
        "hearing_change": "better",
    }  # fmt: skip
    visit["follow_up"] = {
        "plan": "clear again in 6 months",
        "due": day.month(-185),
        "reason": "cavity does not clean itself",
    }


def sore(rng: random.Random, visit: Visit, day: Day, age: int) -> None:
    """An infected canal, found instead of wax: left alone, and the doctor is asked to treat it."""
    side, other = rng.sample(SIDES, 2)
    device = rng.choice(ears.DEVICES)
    visit["reasons"] = ["discomfort"]
    visit[other] = {"before": ears.healthy(rng, device)}
    onset = day.ago(rng.randint(2, 6))
    visit[side] = {
        "symptoms": [{"term": "pain", "onset": onset, "severity": "mild", "score": 3}, {"term": "itch", "onset": onset},
                     "no hearing loss", "no vertigo", "no facial weakness", "no fever"],
        "history": quiet_past(rng, day),
        "before": {
            "view": ears.view(rng, "full", None, device),
            "wax": "minimal",
            "canal": ["red", "tender", "no granulation"],
            "drum": ["intact", "pearl grey"],
            "outer_ear": ["tragal tenderness"],
        },
        "work": [works.untouched(rng, "infection found")],
        "impressions": ["otitis externa"],
    }  # fmt: skip
    visit["no_request"] = False
    visit["requests"] = [
        {
            "action": "Please look at this ear within the next days and treat the outer ear infection.",
            "ear": side,
            "by_when": day.ahead(3),
            "reason": "Red, tender canal; the drum is whole.",
        }
    ]
    visit["advice"][-1:-1] = [{**visit["advice"][0], "term": "see GP"}]
    visit["sharing"] = {"status": "given", "recipients": ["family doctor"], "scope": ["visit summary"],
                        "form": "verbal, recorded", "at": day.at(4)}  # fmt: skip
    visit["follow_up"] = {"plan": "look again once it has healed", "due": day.ahead(28), "reason": "infection"}


STORIES = (
    (6, well), (2, declined), (2, absent), (1, went), (3, softener_first), (3, no_water), (1, cavity), (2, sore),
)  # fmt: skip
