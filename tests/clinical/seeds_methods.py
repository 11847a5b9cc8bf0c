"""Faults: a method used although something speaks against it, with no reason recorded."""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

from tests.clinical.cautions import HARMLESS
from tests.clinical.changing import (
    Ear,
    caution,
    found,
    had,
    kind,
    never_denied,
    no_reason,
    say,
    see_in_full,
    worked_on,
)  # fmt: skip
from tests.clinical.day import Day, Visit, of_visit

Change = Callable[[random.Random, Visit, Ear, Day], None]
S8, S9, S10 = "NHS Tayside ear wax guide", "ear irrigation guideline", "Humber ear care pathway"
S5, AAO = "Primary Care Notebook, syringing", "AAO-HNS earwax 2017"
OSCE = "common practice"


def against(name: str, words: str, row: str, *ways: str) -> Callable[[Change], Change]:
    """A kind: work in one of these ways, no reason for it recorded, and what the function adds."""

    def register(change: Change) -> Change:
        @kind(name, words, row)
        def seed(rng: random.Random, visit: Visit) -> Visit | None:
            done = worked_on(rng, visit, *ways)
            if not done or not all(caution in ("none", *HARMLESS) for caution in visit["cautions"]):
                return None
            no_reason(done[1])
            done[1]["events"] = ["none"]
            visit["consent"]["explained"] = ["incomplete removal", "alternative: no treatment"]
            change(rng, visit, done[0], of_visit(visit))
            return visit

        return change

    return register


@against("water.perforation", "irrigation through a hole", f"2.2; {S9}, {S10}", "water")
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    see_in_full(ear["before"])
    for exam in (ear["before"], ear["after"]):
        found(exam, "drum", "perforation")


@against(
    "water.healed", "irrigation within a year of a hole that healed", "2.2, 8; condition page that quotes CKS", "water"
)
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    healed = {"term": "perforation", "date": day.ago(320), "ended": day.ago(rng.randint(60, 300)), "note": "Healed."}
    had(ear, healed, instead=("perforation",))


@against("water.surgery", "irrigation of an ear that was operated on", f"2.2; {S9}, {S10}", "water")
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    words = rng.choice(("myringoplasty", "mastoidectomy", "stapedectomy", "ear surgery"))
    had(ear, {"term": words, "date": day.year(3000)}, instead=("ear surgery",))


@against("water.tube", "irrigation with a ventilation tube in place", f"2.2; {S8}", "water")
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    see_in_full(ear["before"])
    for exam in (ear["before"], ear["after"]):
        found(exam, "drum", "grommet")


@against("water.tube-lately", "irrigation less than 18 months after a tube came out", f"2.2; {S9}, {S10}", "water")
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    had(
        ear, {"term": "grommet", "date": day.ago(700), "ended": day.ago(rng.randint(60, 500))}, instead=("ear surgery",)
    )


@against("water.middle-ear", "irrigation within 6 weeks of a middle ear infection", f"2.2; {S8}, {S9}, {S10}", "water")
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    start = rng.randint(14, 40)
    words = rng.choice(("middle ear infection", "otitis media", "acute otitis media"))
    had(ear, {"term": words, "date": day.ago(start), "ended": day.ago(start - 7)}, instead=("ear infection",))


@against("water.mucus", "irrigation within a year of mucus discharge", f"2.2; {S8}, {S9}", "water")
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    had(ear, {"term": "mucus discharge", "date": day.ago(rng.randint(30, 350))}, instead=("mucus discharge",))


@against("water.outer-infection", "irrigation of an acutely infected, painful ear", f"2.2; {S9}, {S10}", "water")
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    say(ear, {"term": "pain", "onset": day.ago(3), "severity": "moderate"}, instead=("pain",))
    see_in_full(ear["before"])
    found(ear["before"], "canal", "red", "swollen", "tender")
    found(ear["before"], "outer_ear", "tender pinna")
    ear["impressions"] = [rng.choice(("otitis externa", "acute otitis externa"))]


@against("water.reaction", "irrigation after harm from irrigation before", f"2.2; {S9}, {S10}", "water")
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    had(ear, {"term": "reaction to irrigation", "date": day.year(1500)})


@against("water.only-ear", "irrigation of the only hearing ear", f"2.2; {S8}", "water")
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    caution(visit, {"term": "only hearing ear", "ear": "right" if visit["right"] is ear else "left"})


@against("water.cleft", "irrigation with a cleft palate", f"2.2, 8; {S8}, {S10}", "water")
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    never_denied(visit, "cleft palate")
    if rng.random() < 0.5:
        caution(visit, "cleft palate")
    else:
        had(ear, "cleft palate", instead=("cleft palate",))


@against("water.foreign-body", "irrigation onto a foreign body", f"2.2; {S8}, {S9}", "water")
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    found(ear["before"], "contents", rng.choice(("seed", "bead", "foreign body")))


@against("water.radiotherapy", "irrigation after radiotherapy of the area", f"2.2; {S5}", "water")
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    caution(visit, "head and neck radiotherapy")
    never_denied(visit, "radiotherapy")


@against("water.injury", "irrigation of an ear that was hurt lately", f"2.2; {S5}", "water")
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    had(ear, {"term": rng.choice(("ear injury", "head injury")), "date": day.ago(rng.randint(3, 20))})


@against("water.vertigo", "irrigation of somebody who has vertigo", f"2.2; {S5}", "water")
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    say(ear, {"term": "vertigo", "onset": day.ago(12)}, instead=("vertigo",))


@against(
    "water.cannot-keep-still",
    "irrigation of somebody who cannot cooperate",
    "2.2; condition page that quotes CKS",
    "water",
)
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    caution(visit, rng.choice(("cannot cooperate", "cannot keep still")))


@against(
    "water.precaution",
    "irrigation with tinnitus, or a blood thinner, and no word of care",
    f"2.2; {S9}, {S10}",
    "water",
)
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    caution(visit, rng.choice(("tinnitus", "anticoagulant")))


@against("water.no-softener", "irrigation, and no softener used before", "2.1, 2.2; NICE NG98 as quoted", "water")
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    visit["softeners"] = ["none"]


def _method(*words: str) -> Change:
    def change(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
        work = ear["work"][-1]
        for name in ("suction", "irrigation", "instruments"):
            work.pop(name, None)
        work["method"] = rng.choice(words)

    return change


against("method.syringing", "manual syringing", f"1.10, 2.1; {S5}")(
    _method("syringing", "syringed", "manual syringing")
)
against("method.candles", "ear candles", f"1.10, 2.5; {AAO}, key action statement 5B")(
    _method("ear candling", "candling")
)
against("method.self", "irrigation by the client alone", "1.10; BSA aural care 2021")(_method("self-irrigation"))


@against("suction.perforation", "suction on a hole, no reason recorded", "2.3, 8; Family Practice Notebook", "suction")
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    see_in_full(ear["before"])
    for exam in (ear["before"], ear["after"]):
        found(exam, "drum", rng.choice(("perforation", "central perforation")))


@against(
    "suction.tube", "suction with a tube in the drum, no reason recorded", "2.3; Family Practice Notebook", "suction"
)
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    see_in_full(ear["before"])
    for exam in (ear["before"], ear["after"]):
        found(exam, "drum", "grommet")


@against(
    "suction.cavity", "suction of a mastoid cavity, no reason recorded", "2.3; Family Practice Notebook", "suction"
)
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    had(ear, {"term": "canal wall down mastoidectomy", "date": day.year(4000)}, instead=("ear surgery",))
    for exam in (ear["before"], ear["after"]):
        found(exam, "mastoid_cavity", "open", "dry")


@against("suction.blood-thinner", "suction on a blood thinner, no word of care", f"2.3; {AAO}, KAS 2B", "suction")
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    caution(visit, rng.choice(("anticoagulant", "warfarin", "bleeding disorder")))
    ear["work"][-1].pop("events")


@against("suction.noise", "suction in spite of troublesome tinnitus or pain from noise", f"2.3; {OSCE}", "suction")
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    caution(visit, rng.choice(("hyperacusis", "troublesome tinnitus")))


@against(
    "suction.vertigo", "suction with vertigo in the past, no word of care", "2.3; Family Practice Notebook", "suction"
)
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    caution(visit, "vertigo history")


@against(
    "suction.infection",
    "suction of an acutely infected, very painful ear",
    "2.3; Primary care referral criteria",
    "suction",
)
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    say(ear, {"term": "severe pain", "onset": day.ago(3), "severity": "severe", "score": 8}, instead=("pain",))
    see_in_full(ear["before"])
    found(ear["before"], "canal", "red", "swollen")
    ear["impressions"] = ["acute otitis externa"]


@against("suction.radiotherapy", "suction after radiotherapy, no word of care", f"2.3; {AAO}, KAS 2B", "suction")
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    caution(visit, "head and neck radiotherapy")
    never_denied(visit, "radiotherapy")


@against("suction.cannot-keep-still", "suction of somebody who cannot keep still", f"2.3; {OSCE}", "suction")
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    caution(visit, rng.choice(("cannot keep still", "unable to cooperate")))


@against("tools.unseen", "instruments used without a magnified view", "2.4; BSA aural care 2021", "tools")
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    for exam in (ear["before"], ear["after"]):
        exam["view"] = {
            **(exam["view"] if isinstance(exam["view"], dict) else {"achieved": "full"}),
            "device": "naked eye",
        }


@against("tools.bone", "instruments in the bony part, no word of how it was borne", f"2.4; {OSCE}", "tools")
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    third = rng.choice(("inner third", "deep", "against the drum"))
    ear["before"]["wax"]["place"] = {"third": third}
    for name in ("tolerance", "events", "pain_before", "pain_peak", "pain_after"):
        ear["work"][-1].pop(name, None)


@against(
    "tools.risk",
    "instruments with a blood thinner, diabetes or weak immunity, no reason",
    f"2.4; {AAO}, KAS 2B",
    "tools",
)
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    caution(visit, rng.choice(("anticoagulant", "diabetes", "immunosuppressed")))


@against("tools.moving", "instruments in a head that moves", f"2.4; {OSCE}", "tools")
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    caution(visit, rng.choice(("tremor", "cannot keep still")))


@against("tools.narrow", "instruments in a narrow canal, no word of care", f"2.4; {AAO}, KAS 2B", "tools")
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    see_in_full(ear["before"], "moderate")
    for exam in (ear["before"], ear["after"]):
        found(exam, "canal", rng.choice(("exostoses", "narrow")))


@kind("drops.nut", "oil of a nut for somebody who cannot bear it", "1.3; common practice")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit)
    if not done:
        return None
    allergy, oil = rng.choice((("nut", "almond oil"), ("almond", "almond oil"), ("peanut", "arachis oil")))
    visit["allergies"] = [{"term": allergy, "reaction": "swelling"}]
    done[1]["products"] = [_product(visit, oil)]
    return visit


@kind("drops.allergy", "drops used that the client is allergic to", "1.3; common practice")
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit)
    if not done:
        return None
    visit["allergies"] = [{"term": "olive oil", "reaction": "rash"}]
    done[1]["products"] = [_product(visit, "olive oil")]
    return visit


def _product(visit: Visit, name: str) -> dict[str, Any]:
    day = of_visit(visit)
    return {"name": name, "dose": "3 drops", "when": "used in clinic", "batch": "B77", "expiry": day.ahead(200)}


@against("guideline.no-trouble", "wax taken out that troubled nobody and hid nothing", f"2.5; {AAO}, KAS 3B")
def _(rng: random.Random, visit: Visit, ear: Ear, day: Day) -> None:
    see_in_full(ear["before"])
    ear["before"]["drum"] = "normal"
    for name in ("impressions", "hearing_change", "hearing_before", "hearing_after", "hearing_aid"):
        ear.pop(name, None)
    ear["symptoms"] = ["no symptoms"]
    visit["reasons"] = ["routine check"]
    visit.pop("weber", None)


@kind("guideline.no-second-look", "nobody looked again after the work", f"2.5; {AAO}, KAS 9", left_out=True)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit)
    if not done:
        return None
    del done[0]["after"]
    done[0].pop("hearing_after", None)
    return visit


@kind("guideline.failed", "nothing came out and nothing is to follow", f"2.5; {AAO}, KAS 10", left_out=True)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    done = worked_on(rng, visit, outcome=("none removed", "no wax removed"))
    if not done:
        return None
    visit.pop("follow_up", None)
    visit["advice"] = [a for a in visit["advice"] if a["term"] in ("no cotton buds", "keep dry", "safety net")]
    return visit


@kind("guideline.hygiene", "no advice on the care of ears that make too much wax", f"2.5; {AAO}, KAS 1", left_out=True)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    if not worked_on(rng, visit):
        return None
    visit.pop("advice")
    return visit


@kind(
    "guideline.aids",
    "wearer of hearing aids whose ear with the aid was not looked at",
    f"2.5; {AAO}, KAS 4",
    left_out=True,
)
def _(rng: random.Random, visit: Visit) -> Visit | None:
    aided = [side for side in ("right", "left") if "hearing_aid" in visit.get(side, {}) and "work" not in visit[side]]
    if not aided:
        return None
    side = rng.choice(aided)
    visit[side] = {"hearing_aid": visit[side]["hearing_aid"]}
    return visit
