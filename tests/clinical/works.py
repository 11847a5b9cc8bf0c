"""How wax is taken out in a clean visit: each method with what belongs to its record."""

from __future__ import annotations

import random
from typing import Any

from tests.clinical.day import Day, maybe, measure

MICROSUCTION = ("microsuction", "micro suction", "MS")
INSTRUMENTS = ("instruments", "manual", "instrument")
BOTH = ("microsuction and instruments",)
IRRIGATION = ("irrigation", "irrig")
OUTCOMES = {
    "complete": ("complete", "completed", "cleared"),
    "partial": ("partial", "partially cleared"),
    "none": ("none removed", "no wax removed"),
    "stopped": ("stopped", "abandoned"),
    "not attempted": ("not attempted", "not done"),
}
TUBES = (
    {"name": "fine end", "size": {"value": 18, "scale": "G"}},
    {"name": "fine end", "size": {"value": 20, "scale": "G"}},
    {"name": "suction tube", "size": {"value": 2, "scale": "mm"}},
    {"name": "suction tube", "size": {"value": 5, "scale": "Fr"}},
    {"name": "suction tube", "size": {"value": 6, "scale": "Fr"}},
)
TOOLS = ("ring probe", "wax hook", "crocodile forceps", "curette", "wax loop")


def way_of(method: str) -> str:
    """Which of the ways of working a method's words stand for."""
    for way, words in (("suction", MICROSUCTION), ("tools", INSTRUMENTS), ("both", BOTH), ("water", IRRIGATION)):
        if method in words:
            return way
    return "other"


def suction(rng: random.Random) -> dict[str, Any]:
    pressure = rng.choice(
        (measure(rng.choice((80, 100, 120, 150, 180, 200)), "mm[Hg]"), measure(rng.choice((13, 16, 20, 24)), "kPa"))
    )
    return {"pressure": pressure, "taken": rng.choice(("set", "reached")), "time": measure(rng.randint(20, 110), "s")}


def irrigation(rng: random.Random) -> dict[str, Any]:
    return {
        "temperature": measure(rng.choice((36.5, 37, 37, 37.5)), "Cel"),
        "volume": measure(rng.choice((150, 200, 300, 400)), "mL"),
        "tip": "new single-use tip",
    }


def drops(rng: random.Random, day: Day, name: str = "olive oil", when: str = "used in clinic") -> dict[str, Any]:
    return {
        "name": name,
        "dose": "3 drops",
        "when": when,
        "batch": f"OB{rng.randrange(100, 999)}",
        "expiry": rng.choice((day.ahead(rng.randint(60, 600)), day.month(-400))),
    }


def removal(rng: random.Random, day: Day, way: str, deep: bool) -> dict[str, Any]:
    """Work that took everything out and was well borne."""
    methods = {"suction": MICROSUCTION, "tools": INSTRUMENTS, "both": BOTH, "water": IRRIGATION}
    lot = f"L{rng.randrange(1000, 9999)}"
    work: dict[str, Any] = {"method": rng.choice(methods[way])}
    instruments: list[Any] = []
    if way in ("suction", "both"):
        instruments.append({**rng.choice(TUBES), "lot": lot})
        work["suction"] = suction(rng)
    if way in ("tools", "both"):
        instruments.append({"name": rng.choice(TOOLS), "lot": lot})
    if way == "water":
        instruments = [{"name": "electronic irrigator"}, {"name": "irrigator tip", "lot": lot}, {"name": "receiver"}]
        work["irrigation"] = irrigation(rng)
    work |= {
        "why": rng.choice(
            ("what the client prefers; nothing speaks against it", "safest way for this ear", "best view of the drum")
        ),
        "instruments": instruments,
        **(maybe(rng, 0.25, products=[drops(rng, day)]) if way != "water" else {}),
        "attempts": 1,
        "duration": measure(rng.randint(3, 11), "min"),
        "tolerance": rng.choice(("well tolerated", "tolerated well", "well")),
        "pain_before": 0,
        "pain_peak": rng.randint(0, 3),
        "pain_after": 0,
        "events": [rng.choice(("no bleeding", "none", "uneventful", "no complications"))],
        "outcome": rng.choice(OUTCOMES["complete"]),
    }
    if deep and way in ("tools", "both"):
        work["note"] = "Comfortable all along; the skin of the bony part was not touched."
    return work


def ended(rng: random.Random, work: dict[str, Any], how: str, reason: str, tolerance: str | None = None) -> None:
    """The same work, but not to the end: how it ended, and why."""
    work["outcome"] = rng.choice(OUTCOMES[how])
    work["outcome_reason"] = reason
    if tolerance:
        work["tolerance"] = tolerance


SMALL_EVENTS: tuple[dict[str, Any], ...] = (
    {"term": "cough", "severity": "mild", "done": "Paused for a minute; it settled and the work went on."},
    {"term": "dizzy", "severity": "mild", "done": "Stopped and lay still for two minutes until it had fully gone."},
    {
        "term": "bleeding",
        "severity": "mild",
        "done": "A spot of blood wiped off; stopped by itself. Told to keep it dry.",
    },
    {"term": "noise", "severity": "mild", "done": "Shorter bursts of suction; fine after that."},
    {"term": "felt faint", "severity": "mild", "done": "Laid down with raised legs; well after five minutes."},
)
"""What happens now and then and was dealt with."""


def untouched(rng: random.Random, reason: str) -> dict[str, Any]:
    """Looked at, and left alone for a reason."""
    return {"method": "assessment only", "outcome": rng.choice(OUTCOMES["not attempted"]), "outcome_reason": reason}


def nothing_to_do() -> dict[str, Any]:
    return {"method": "assessment only", "outcome": "not needed"}
