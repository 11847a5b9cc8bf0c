"""Complete visits without a clinical fault, in the words that practitioners write.

`clean_visit(rng)` is plain data in the shape of the visit model. What is clean stands in the publications that the
records of the trade are made after, and in common practice: every ear that was treated had a reason to be, was seen
before and after, the method fits the history and the cautions or says why it was chosen, the outcome agrees with what
was seen, what went wrong was dealt with, and what comes next is written down.
"""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from typing import Any

from tests.clinical import ears, people, works
from tests.clinical.aftercare import advice, come_back_softened, recall
from tests.clinical.cautions import cautions
from tests.clinical.complaints import annoys, loses_hearing, quiet_past, slow_loss
from tests.clinical.day import Day, Visit, day_of
from tests.clinical.hearing import blocked, cochlea, open_ear
from tests.clinical.no_work import STORIES as NO_WORK
from tests.clinical.sent_on import sent_on
from tests.clinical.unusual import unusual
from tests.clinical.works import way_of

SIDES = ("right", "left")


def clean_visit(rng: random.Random) -> Visit:
    """One visit; the same state of `rng` gives the same."""
    stories: tuple[tuple[int, Callable[[random.Random, Visit, Day, int], None]], ...] = (
        (50, cleared), (8, rare), (8, partly), (5, stopped), (4, too_hard), (7, sent_on), *NO_WORK,
    )  # fmt: skip
    child = rng.random() < 0.1
    age, day = people.years(rng, child), day_of(rng)
    visit = frame(rng, day, age)
    (story,) = rng.choices([s for _, s in stories], [weight for weight, _ in stories])
    story(rng, visit, day, age)
    apart: Visit = json.loads(json.dumps(visit))
    return apart


def frame(rng: random.Random, day: Day, age: int) -> Visit:
    """What every visit has, with nothing yet of the ears."""
    who = rng.choice(people.KEYS)
    return {
        "number": f"G{day.start:%y%m}-{rng.randrange(10_000):04d}",
        "practitioners": [who],
        "client": people.client(rng, day, age),
        "family_doctor": rng.choice(("MD", "AG")),
        "start": day.at(0),
        "end": day.at(40),
        "recorded_at": day.at(48),
        "approved": {"by": who, "at": day.at(55)},
        "place": rng.choices(("clinic", "home", "care home"), (80, 12, 8 if age > 64 else 0))[0],
        "cautions": ["none"],
        "allergies": people.allergies(rng),
        "medicines": people.medicines(rng),
        "consent": people.treatment_consent(rng, day, age, who, capable=age < 70 or rng.random() < 0.93),
        "sharing": people.sharing(rng, day, None, images=False),
        "advice": advice(rng, "client" if age >= 16 else "parent"),
        "follow_up": recall(rng, day),
        "no_request": True,
    }


def treated(rng: random.Random, visit: Visit, day: Day, age: int) -> list[str]:
    """Fills in a visit at which wax was taken out of one ear or both, wholly and well; tells which ears."""
    way = rng.choice(("suction", "suction", "suction", "tools", "both", *(["water"] if age >= 18 else [])))
    way = "suction" if age < 8 else way
    visit["cautions"], why, drugs = cautions(rng, way)
    if drugs:
        listed = visit["medicines"] if isinstance(visit["medicines"], list) else []
        visit["medicines"] = [*listed, *({"name": drug} for drug in drugs)]
    if visit["consent"]["status"] == "best interests":
        visit["cautions"] = [*(c for c in visit["cautions"] if c != "none"), "dementia"]
    sides = list(SIDES) if rng.random() < 0.45 else [rng.choice(SIDES)]
    softened = way == "water" or rng.random() < 0.5
    if softened:
        name = rng.choice(("olive oil", "olive oil", "sodium bicarbonate"))
        used = {"name": name, "dose": "3 drops twice a day", "when": "used before", "start": day.ago(rng.randint(3, 5))}
        visit["softeners"] = [used]
    device = rng.choice(ears.DEVICES)
    bone = cochlea(rng, age) if rng.random() < 0.25 and age >= 8 else None
    for side in SIDES:
        visit[side] = worked(rng, day, way, why, device, softened) if side in sides else looked_at(rng, day, device)
    complaint = visit[sides[0]]["symptoms"][0]["term"]
    visit["reasons"] = [rng.choice((complaint, "wax removal", "before hearing test" if bone else "blocked ear"))]
    if bone:
        measured(rng, visit, sides, bone)
    if age > 55 and rng.random() < 0.25:
        style = rng.choice(("BTE", "RIC", "ITE"))
        for side in SIDES:
            visit[side]["hearing_aid"] = {"style": style}
        visit["advice"][-1:-1] = [{**visit["advice"][0], "term": "hearing aid care"}]
    pictured(rng, visit, day, sides)
    return sides


def worked(rng: random.Random, day: Day, way: str, why: str | None, device: str, softened: bool) -> dict[str, Any]:
    """An ear that was troubled by wax, freed of it, and is better for it."""
    texture = "soft" if softened or way in ("tools", "water") else rng.choice(("soft", "hard"))
    third = rng.choice(("outer third", "middle") if way in ("tools", "both", "water") else tuple(ears.THIRDS))
    amount = rng.choice(("moderate", "heavy", "heavy", "impacted", "impacted"))
    complaint = loses_hearing(rng, day) if rng.random() < 0.55 else annoys(rng, day)
    work = works.removal(rng, day, way, deep=third in ("inner third", "against the drum"))
    if why:
        work["why"] = why
    if rng.random() < 0.1 and way != "water":
        event = dict(rng.choice(works.SMALL_EVENTS if way == "suction" else works.SMALL_EVENTS[:3]))
        work["events"], work["tolerance"] = [event], "some discomfort"
    record: dict[str, Any] = {
        "symptoms": ears.denied(rng, rng.random() < 0.5),
        "history": quiet_past(rng, day),
        "before": ears.before_with_wax(rng, amount, texture, third, device),
        "work": [work],
        "after": ears.cleared(rng, device),
        "hearing_change": rng.choice(("better", "improved", "much better")),
    }
    if amount in ("heavy", "impacted"):
        record["impressions"] = [rng.choice(("impacted wax", "wax impaction"))]
    troubled(record, complaint)
    ears.old_findings(rng, record["after"])
    return record


def troubled(record: dict[str, Any], complaint: dict[str, Any]) -> None:
    """Gives the ear its complaint, and the pain that goes with it."""
    hurts, work = complaint["term"] == "discomfort", record["work"][0]
    denied = [s for s in record["symptoms"] if isinstance(s, str)]
    record["symptoms"] = [complaint, *(s for s in denied if not (hurts and s == "no pain"))]
    work["pain_before"] = complaint.get("score", 0)
    work["pain_peak"] = max(work["pain_before"], work["pain_peak"])


def looked_at(rng: random.Random, day: Day, device: str) -> dict[str, Any]:
    """The other ear, which is well."""
    record: dict[str, Any] = {"before": ears.healthy(rng, device)}
    if rng.random() < 0.5:
        record["symptoms"] = ["no symptoms"]
    if rng.random() < 0.5:
        record["history"] = quiet_past(rng, day)
    ears.old_findings(rng, record["before"])
    return record


def measured(rng: random.Random, visit: Visit, sides: list[str], bone: list[int]) -> None:
    """Both ears measured before and after: the same inner ears, with the damping of the wax before."""
    gap = rng.choice((20, 25, 30))
    tympanometry = rng.random() < 0.4
    for side in SIDES:
        ear = visit[side]
        ear["hearing_before"] = blocked(rng, bone, gap) if side in sides else open_ear(rng, bone, False)
        ear["hearing_after"] = open_ear(rng, bone, tympanometry)
    if gap >= 25:
        visit["weber"] = sides[0] if len(sides) == 1 else "middle"


def pictured(rng: random.Random, visit: Visit, day: Day, sides: list[str]) -> None:
    if rng.random() > 0.2:
        return
    for side in sides:
        ear = visit[side]
        ear["images"] = [ears.image(rng, visit["number"], side, "before", day.at(6))]
        ear["images"].append(ears.image(rng, visit["number"], side, "after", day.at(30)))
    visit["consent"].setdefault("note", "Pictures: agreed to for the record only.")
    if visit["sharing"]["status"] == "given":
        visit["sharing"]["scope"] = ["visit summary", "images"]


def cleared(rng: random.Random, visit: Visit, day: Day, age: int) -> None:
    treated(rng, visit, day, age)


def rare(rng: random.Random, visit: Visit, day: Day, age: int) -> None:
    """A cleared visit with something out of the ordinary, where nothing else is."""
    sides = treated(rng, visit, day, age)
    if way_of(visit[sides[0]]["work"][0]["method"]) == "suction" and visit["cautions"] == ["none"]:
        unusual(rng, visit, day, sides)


def unfinished(rng: random.Random, visit: Visit, day: Day, age: int) -> tuple[dict[str, Any], str]:
    """A treated visit whose first ear is yet to be given its end, with what it came for."""
    sides = treated(rng, visit, day, age)
    visit.pop("weber", None)
    for side in SIDES:
        visit[side].pop("hearing_before", None)
        visit[side].pop("hearing_after", None)
    ear: dict[str, Any] = visit[sides[0]]
    troubled(ear, annoys(rng, day) if rng.random() < 0.6 else slow_loss(rng, day))
    visit["reasons"] = [rng.choice(("wax removal", "blocked ear", ear["symptoms"][0]["term"]))]
    visit["follow_up"] = come_back_softened(rng, day)
    visit["advice"][-1:-1] = [{**visit["advice"][0], "term": "use olive oil"}]
    ear["hearing_change"] = "same"
    return ear, ear["before"]["view"]["device"]


def _with_much_wax(rng: random.Random, ear: dict[str, Any], device: str, texture: str) -> None:
    ear["before"] = ears.before_with_wax(rng, rng.choice(("heavy", "impacted")), texture, "middle", device)
    ear["before"]["wax"]["percent"] = 100 if ear["before"]["drum"] == ear["before"]["canal"] else 90
    ear["impressions"] = ["impacted wax"]


def partly(rng: random.Random, visit: Visit, day: Day, age: int) -> None:
    ear, device = unfinished(rng, visit, day, age)
    _with_much_wax(rng, ear, device, "hard")
    works.ended(rng, ear["work"][0], "partial", rng.choice(("too hard", "adherent", "time", "hard wax")))
    ear["after"] = ears.left_over(rng, device, rng.choice((30, 40, 60)), "hard")


def stopped(rng: random.Random, visit: Visit, day: Day, age: int) -> None:
    ear, device = unfinished(rng, visit, day, age)
    _with_much_wax(rng, ear, device, "hard")
    work = ear["work"][0]
    reason, event = rng.choice((
        ("client asked", "no bleeding"),
        ("pain", {"term": "pain", "severity": "moderate", "done": "Stopped at once; gone after two minutes."}),
        ("dizzy", {"term": "dizzy", "severity": "mild", "done": "Stopped; lay still until it had fully gone."}),
        ("cough", {"term": "cough", "severity": "moderate", "done": "Stopped; settled within a minute."}),
        ("anxious", "no bleeding"),
    ))  # fmt: skip
    works.ended(rng, work, "stopped", reason, "stopped at request" if reason == "client asked" else "poorly tolerated")
    work["events"] = [event]
    if reason == "pain":
        work["pain_peak"], work["pain_after"] = 5, 1
    ear["after"] = ears.left_over(rng, device, rng.choice((60, 70)), "hard")


def too_hard(rng: random.Random, visit: Visit, day: Day, age: int) -> None:
    ear, device = unfinished(rng, visit, day, age)
    _with_much_wax(rng, ear, device, "hard")
    works.ended(rng, ear["work"][0], "none", rng.choice(("too hard", "rock hard")))
    ear["after"] = ears.left_over(rng, device, 100 if ear["before"]["wax"]["percent"] == 100 else 90, "hard")
