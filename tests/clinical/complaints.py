"""What brings a client to a clean visit: a complaint that the wax explains, with when and how fast it began."""

from __future__ import annotations

import random
from typing import Any

from tests.clinical.day import Day, maybe, measure

HEARING = ("reduced hearing", "hearing reduced", "muffled hearing", "hearing loss")
OTHER = ("blocked", "itch", "fullness", "discomfort", "popping")


def loses_hearing(rng: random.Random, day: Day) -> dict[str, Any]:
    """Hearing that went down, from within a day (water on wax) to over years; the wax is to explain it."""
    speed, unit, days, since = rng.choice((
        (1, "d", 1, rng.randint(3, 25)),
        (12, "h", 1, rng.randint(2, 28)),
        (2, "d", 2, rng.randint(35, 90)),
        (2, "wk", 14, rng.randint(20, 60)),
        (6, "wk", 42, rng.randint(45, 150)),
        (4, "mo", 125, rng.randint(130, 400)),
        (1, "a", 370, rng.randint(380, 900)),
    ))  # fmt: skip
    onset = day.ago(since) if since < 100 else rng.choice((day.ago(since), day.month(since + 31)))
    words = "gradual hearing loss" if days > 100 and rng.random() < 0.5 else rng.choice(HEARING)
    return {
        "term": words,
        "onset": onset,
        "developed_over": measure(speed, unit),
        **maybe(rng, 0.6, severity=rng.choice(("mild", "moderate"))),
    }


def slow_loss(rng: random.Random, day: Day) -> dict[str, Any]:
    """Hearing that went down over years."""
    return {
        "term": "gradual hearing loss",
        "onset": day.year(1200),
        "developed_over": measure(2, "a"),
        "severity": "mild",
    }


def annoys(rng: random.Random, day: Day) -> dict[str, Any]:
    """Anything but hearing."""
    word = rng.choice(OTHER)
    told: dict[str, Any] = {"term": word, **maybe(rng, 0.7, onset=day.ago(rng.randint(5, 80)))}
    if word in ("itch", "discomfort"):
        told["severity"] = "mild"
    if word == "discomfort" and rng.random() < 0.5:
        told["score"] = rng.randint(1, 3)
    return told


PAST: tuple[Any, ...] = (
    "no perforation", "no ear surgery", "no ear infection", "no mucus discharge", "no cleft palate", "no radiotherapy",
)  # fmt: skip
"""What is asked for before wax is taken out; most clients have none of it."""


def quiet_past(rng: random.Random, day: Day) -> list[Any]:
    """A past that speaks against no method."""
    past: list[Any] = list(PAST) if rng.random() < 0.6 else ["none"]
    if rng.random() < 0.3:
        years = rng.randint(1, 4)
        past = [p for p in past if p != "none"]
        past.append({"term": "microsuction", "date": day.year(365 * years), "note": "No reaction."})
    return past
