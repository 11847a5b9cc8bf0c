"""How a fault is put into a visit: what was said against it goes, so that nothing contradicts it by accident."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from tests.clinical.day import Visit
from tests.clinical.works import way_of

SIDES = ("right", "left")
Ear = dict[str, Any]
Seed = Callable[[random.Random, Visit], Visit | None]


@dataclass(frozen=True)
class Kind:
    """`row` is where the facts stand that make it an error; `left_out`: something that should be there is missing."""

    name: str
    words: str
    row: str
    family: str
    left_out: bool
    seed: Seed


KINDS: dict[str, Kind] = {}


def kind(name: str, words: str, row: str, left_out: bool = False) -> Callable[[Seed], Seed]:
    """Registers a seed under a name `family.what`; it may change the visit, which is a copy, and returns it or None."""

    def register(seed: Seed) -> Seed:
        assert name not in KINDS, name
        KINDS[name] = Kind(name, words, row, name.partition(".")[0], left_out, seed)
        return seed

    return register


def seen(visit: Visit) -> Iterator[tuple[str, Ear]]:
    """Ears that were looked at, of clients who were sent nowhere."""
    if "referral" not in visit:
        for side in SIDES:
            if isinstance(visit.get(side, {}).get("before"), dict):
                yield side, visit[side]


def healthy_ear(rng: random.Random, visit: Visit) -> Ear | None:
    """An ear without wax that was seen well, and in which nothing else was found or done."""
    found = [
        ear
        for _, ear in seen(visit)
        if ear["before"]["wax"] in ("none", "minimal")
        and "after" not in ear
        and isinstance(ear["before"].get("drum"), str | list)
        and not any(isinstance(term, dict) for term in ear["before"]["drum"])
        and "outer_ear" not in ear["before"]
    ]
    return rng.choice(found) if found else None


def worked_on(
    rng: random.Random, visit: Visit, *ways: str, outcome: tuple[str, ...] = ("complete", "completed", "cleared")
) -> tuple[Ear, dict[str, Any]] | None:
    """An ordinary ear with the work on it, done in one of these ways (any way if none is named) and ended so."""
    found = [
        (ear, ear["work"][-1])
        for _, ear in seen(visit)
        if "after" in ear
        and way_of(ear["work"][-1]["method"]) in (ways or ("suction", "tools", "both", "water"))
        and ear["work"][-1]["outcome"] in outcome
        and len(ear["work"]) == 1
        and "mastoid_cavity" not in ear["before"]
    ]
    return rng.choice(found) if found else None


def say(ear: Ear, *told: Any, instead: tuple[str, ...] = ()) -> None:
    """Adds symptoms; takes away that there are none, and the denials of these things."""
    gone = {"no symptoms", *(f"no {thing}" for thing in instead)}
    kept = [s for s in ear.get("symptoms", []) if not isinstance(s, str) or s not in gone]
    ear["symptoms"] = [*kept, *told]


def without_hearing(ear: Ear) -> None:
    """Takes away what was said and measured of the hearing of this ear."""
    kept = [s for s in ear.get("symptoms", []) if not (isinstance(s, dict) and "hearing" in s["term"])]
    ear["symptoms"] = [s for s in kept if s != "no hearing loss"]
    for name in ("hearing_before", "hearing_after", "hearing_change"):
        ear.pop(name, None)


def had(ear: Ear, *past: Any, instead: tuple[str, ...] = ()) -> None:
    gone = {"none", *(f"no {thing}" for thing in instead)}
    kept = [h for h in ear.get("history", []) if not isinstance(h, str) or h not in gone]
    ear["history"] = [*kept, *past]


def caution(visit: Visit, *cautions: Any) -> None:
    visit["cautions"] = [*(c for c in visit.get("cautions", []) if c != "none"), *cautions]


def never_denied(visit: Visit, thing: str) -> None:
    """Takes the denial of something of the whole client from the history of both ears."""
    for side in SIDES:
        if visit.get(side, {}).get("history"):
            had(visit[side], instead=(thing,))


def found(exam: dict[str, Any], part: str, *findings: Any) -> None:
    """Findings in place of whatever was said of the part."""
    exam[part] = list(findings)


def no_reason(work: dict[str, Any]) -> None:
    """Nobody says why this method, or how it was made safe."""
    work.pop("why", None)
    work.pop("note", None)


def see_in_full(exam: dict[str, Any], amount: str = "mild") -> None:
    """Little wax, and everything behind it in sight."""
    exam["view"] = {"achieved": "full", "device": "microscope"}
    exam["wax"] = {"amount": amount}
    exam["canal"] = "normal"
