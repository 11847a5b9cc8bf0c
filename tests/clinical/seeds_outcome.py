"""Faults: an outcome against what was seen, findings against each other, places that cannot be."""

from __future__ import annotations

import random
from typing import Any

from tests.clinical.changing import SIDES, found, had, healthy_ear, kind, say, see_in_full, worked_on
from tests.clinical.day import Visit, mm
from tests.clinical.works import TUBES


@kind("outcome.more-after", "more wax after than before", "5.1 I19")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit)
    if not done:
        return None
    ear, _ = done
    see_in_full(ear["before"])
    ear["before"] |= {
        "wax": {"amount": "minimal", "percent": 10},
        "drum": {"seen": "whole", "findings": ["pearl grey"]},
    }
    ear["after"]["wax"] = {"amount": "heavy", "percent": rng.choice((80, 90))}
    ear["after"] |= {"view": "partial", "canal": "normal", "drum": "not seen (wax)"}
    ear.pop("impressions", None)
    ear.pop("hearing_after", None)
    return visit


@kind("outcome.complete-but-left", "called complete, and wax is left", "5.1 I21")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit)
    if not done:
        return None
    wax: dict[str, Any] = rng.choice(({"amount": "moderate"}, {"percent": 40}, {"amount": "mild", "percent": 40}))
    done[0]["after"]["wax"] = wax
    return visit


@kind("outcome.partial-but-gone", "called partial, and nothing is left", "5.1 I21")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit, outcome=("partial", "partially cleared"))
    if not done:
        return None
    done[0]["after"] = {"view": "full", "wax": "none", "canal": "normal", "drum": "normal"}
    return visit


@kind("outcome.none-but-gone", "nothing was taken out, and the wax is gone", "5.1 I21")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit, outcome=("none removed", "no wax removed"))
    if not done:
        return None
    done[0]["after"] = {"view": "full", "wax": "none", "canal": "normal", "drum": "normal"}
    return visit


@kind("outcome.not-tried-but-worked", "not attempted, but with what it was done with", "5.1 I21")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit)
    if not done:
        return None
    ear, work = done
    work |= {"outcome": "not attempted", "outcome_reason": "time"}
    ear["after"] = {**ear["before"]}
    ear.pop("hearing_change", None)
    ear.pop("hearing_after", None)
    return visit


@kind("outcome.nothing-to-take", "no wax seen, and it was all taken out", "5.1 I21")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit)
    if not done:
        return None
    see_in_full(done[0]["before"], "none")
    done[0]["before"]["drum"] = "normal"
    done[0].pop("impressions", None)
    return visit


@kind("outcome.complete-with-reason", "complete, with a reason why it is not", "5.1 I21")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit)
    if not done:
        return None
    done[1]["outcome_reason"] = rng.choice(("too hard", "pain", "adherent"))
    return visit


@kind("outcome.complete-but-stopped", "stopped when the client asked, and complete", "5.1 I21")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit)
    if not done:
        return None
    done[1]["tolerance"] = "stopped at request"
    return visit


@kind("finding.seen-unseen", "a drum described behind a view of nothing", "1.8; issue 6.3")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit)
    if not done:
        return None
    view = done[0]["before"]["view"]
    view |= {"achieved": "none", "reason": "wax"}
    done[0]["before"]["drum"] = rng.choice(("normal", ["intact", "pearl grey"]))
    return visit


@kind("finding.whole-and-holed", "a drum called whole and holed in one look", "5.1 I21")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit, "suction")
    if not done:
        return None
    found(done[0]["after"], "drum", "intact", "perforation")
    return visit


@kind("finding.hole-gone", "a hole before, and a whole drum half an hour later", "5.1 I19")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit, "suction")
    if not done:
        return None
    see_in_full(done[0]["before"], "moderate")
    found(done[0]["before"], "drum", "perforation")
    found(done[0]["after"], "drum", "intact", "pearl grey")
    return visit


@kind("finding.thought-and-seen", "a hole as impression, and a drum seen whole", "5.1 I21")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit, "suction")
    if not done:
        return None
    see_in_full(done[0]["before"], "moderate")
    for exam in (done[0]["before"], done[0]["after"]):
        found(exam, "drum", "intact", "pearl grey")
    done[0]["impressions"] = [rng.choice(("perforation", "perforated drum"))]
    return visit


@kind("finding.impacted-nothing", "impacted wax as impression where no wax was seen", "2.5 KAS 2A; 5.1 I21")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    ear = healthy_ear(rng, visit)
    if not ear:
        return None
    ear["before"]["wax"] = "none"
    ear["impressions"] = [rng.choice(("impacted wax", "wax impaction"))]
    return visit


@kind("finding.no-wax-described", "no wax, of this texture and colour", "5.1 I21")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    ear = healthy_ear(rng, visit)
    if not ear:
        return None
    ear["before"]["wax"] = {"amount": "none", "consistency": ["hard"], "colour": ["brown"]}
    return visit


@kind("finding.amount-percent", "a word of amount far from the percentage beside it", "1.6; common practice")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit, "suction")
    if not done:
        return None
    exam = done[0]["before"]
    if rng.random() < 0.5:
        exam["wax"] |= {"amount": rng.choice(("impacted", "fully occluded")), "percent": rng.choice((5, 15, 20))}
    else:
        exam["wax"] |= {"amount": rng.choice(("minimal", "mild")), "percent": rng.choice((95, 100))}
    return visit


@kind("finding.normal-and-ill", "skin called healthy and inflamed", "5.1 I21")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    ear = healthy_ear(rng, visit)
    if not ear:
        return None
    found(ear["before"], "canal", rng.choice(("normal", "healthy skin")), rng.choice(("inflamed", "swollen")))
    return visit


@kind("finding.none-and-some", "no symptoms, and one", "5.1 I14")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit)
    if not done:
        return None
    done[0]["symptoms"].append("no symptoms")
    return visit


@kind("finding.denied-and-told", "a symptom denied and told of one ear", "5.1 I14")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit)
    if not done:
        return None
    word = done[0]["symptoms"][0]["term"]
    if word not in ("itch", "hearing loss", "popping"):
        return None
    say(done[0], f"no {word}")
    return visit


@kind("finding.uneventful-and-event", "nothing happened, and something did", "5.1 I21, I24")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit)
    if not done:
        return None
    event = {"term": rng.choice(("bleeding", "dizzy", "graze")), "severity": "mild", "done": "Waited; settled."}
    done[1]["events"] = ["no complications", event]
    return visit


@kind("finding.caused-and-whole", "a hole made, and a drum seen whole after", "1.11; 5.1 I21")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit)
    if not done:
        return None
    told = "Stopped, explained; kept dry; to be looked at in 6 weeks."
    done[1]["events"] = [{"term": "perforation", "severity": "moderate", "done": told}]
    found(done[0]["after"], "drum", "intact", "pearl grey")
    return visit


@kind("place.third-depth", "a third of the canal that does not lie at the depth beside it", "6.1; 5.1")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit, "suction")
    if not done:
        return None
    third, depth = rng.choice((("outer third", 20), ("outer third", 22), ("against the drum", 4), ("inner third", 5)))
    done[0]["before"]["wax"]["place"] = {"third": third, "depth": mm(depth)}
    return visit


@kind("place.clock", "a clock position on the other wall: the clock of the other ear", "6.2; geometry")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    sides = [side for side in SIDES if "after" in visit.get(side, {}) and "referral" not in visit]
    if not sides:
        return None
    side = rng.choice(sides)
    front, back = (3, 9) if side == "right" else (9, 3)
    clock, wall = rng.choice(((front, "posterior wall"), (back, "anterior wall"), (12, "floor"), (6, "roof")))
    if not isinstance(visit[side]["before"].get("wax"), dict):
        return None
    visit[side]["before"]["wax"]["place"] = {"clock_from": clock, "walls": [wall]}
    return visit


@kind("place.hair", "hair in the bony part, where none grows", "issue 6.3; common practice")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    ear = healthy_ear(rng, visit)
    if not ear:
        return None
    hair = {"term": rng.choice(("hairy", "dense hair")), "place": {"third": rng.choice(("inner third", "deep"))}}
    found(ear["before"], "canal", hair)
    return visit


@kind("place.tube-wider", "a tube wider than the canal by the record", "6.3; issue 6.3")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit, "suction")
    if not done:
        return None
    see_in_full(done[0]["before"], "moderate")
    found(done[0]["before"], "canal", {"term": "stenosis", "width": mm(rng.choice((1, 1.5)))})
    done[1]["instruments"] = [dict(rng.choice([t for t in TUBES if t["size"]["scale"] == "mm"]))]
    done[1]["instruments"][0]["size"] = rng.choice(({"value": 3, "scale": "mm"}, {"value": 9, "scale": "Fr"}))
    return visit


@kind("side.note", "a note of one ear that tells of the other", "5.1 I02")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    sides = [side for side in SIDES if "after" in visit.get(side, {})]
    if not sides:
        return None
    side = rng.choice(sides)
    other = "left" if side == "right" else "right"
    visit[side]["note"] = rng.choice((f"{other.title()} ear cleared well.", f"Wax out of the {other} ear."))
    return visit


@kind("finding.past-and-never", "a past denied and told of one ear", "5.1 I12, I14")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit, "suction")
    if not done:
        return None
    had(done[0], "no ear surgery", {"term": "ear surgery", "date": "2009"})
    done[1]["why"] = "Operated ear: suction under the microscope."
    return visit
