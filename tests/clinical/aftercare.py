"""What follows a clean visit: advice that was understood, the signs to come back for, and what comes next."""

from __future__ import annotations

import random
from typing import Any

from tests.clinical.day import Day, some

FORMS = ("verbal and leaflet", "verbal", "spoken and in writing", "email")


def advice(rng: random.Random, to: str, more: tuple[str, ...] = ()) -> list[dict[str, Any]]:
    form = rng.choice(FORMS)
    terms = ["no cotton buds", *some(rng, ("keep dry", "aftercare", "may be sore"), 1, 2), *more]
    told: list[dict[str, Any]] = [{"term": term, "to": to, "form": form, "understood": True} for term in terms]
    return [*told, {"term": "safety net", "to": to, "form": form, "understood": True, "safety_net": True}]


def recall(rng: random.Random, day: Day) -> dict[str, Any]:
    months = rng.choice((4, 6, 9, 12))
    due = day.month(-30 * months - 5)
    return {"plan": f"review in {months} months", "due": due, "reason": "wax comes back"}


def come_back_softened(rng: random.Random, day: Day) -> dict[str, Any]:
    days = rng.choice((7, 10, 14))
    return {
        "plan": "olive oil twice a day, then come back for the rest",
        "due": day.ahead(days),
        "reason": "wax is left",
    }
