"""What is seen in an ear of a clean visit: wax of every amount with the view that it leaves, and healthy ears."""

from __future__ import annotations

import random
from typing import Any

from tests.clinical.day import mm, some

DEVICES = ("microscope", "loupes", "video otoscope", "endoscope")
SPECULA = (3, 4, 4, 5)
AMOUNTS = {  # words of amount with the middle of the band that they stand for
    "minimal": (3, 20),
    "mild": (27, 48),
    "moderate": (53, 74),
    "heavy": (78, 98),
    "impacted": (100, 100),
}
ASIDE = {"minimal": "scant", "mild": "+", "moderate": "++", "heavy": "+++", "impacted": "fully occluded"}
TEXTURES = {
    "soft": (["soft"], ["wet"], ["sticky"], ["soft", "sticky"], ["liquid"]),
    "hard": (["hard"], ["dry", "hard"], ["rock hard"], ["dry", "flaky"], ["crumbly"]),
}
COLOURS = ("cream", "yellow", "honey", "orange", "light brown", "brown", "dark brown", "black", "grey")
THIRDS = {  # how deep it lies from the entrance, in mm: a canal of about 25, a third of it cartilage
    "outer third": (2, 7),
    "middle": (10, 14),
    "inner third": (17, 21),
    "against the drum": (23, 25),
}
HEALTHY_DRUM: tuple[Any, ...] = (
    "normal",
    "normal",
    ["intact", "pearl grey"],
    ["intact", "light reflex present", "landmarks seen"],
    {"seen": "whole", "answer": "normal"},
    ["intact", "pearl grey", "no perforation"],
)
HEALTHY_CANAL: tuple[Any, ...] = ("normal", "normal", ["healthy skin"], ["average"], ["light hair"])


def view(rng: random.Random, achieved: str, reason: str | None = None, device: str | None = None) -> dict[str, Any]:
    seen: dict[str, Any] = {
        "achieved": achieved,
        "device": device or rng.choice(DEVICES),
        "speculum": {"value": rng.choice(SPECULA), "scale": "mm"},
    }
    return seen | {"reason": reason} if reason else seen


def wax(rng: random.Random, amount: str, texture: str, third: str) -> dict[str, Any]:
    least, most = AMOUNTS[amount]
    found: dict[str, Any] = {"amount": amount if rng.random() < 0.7 else ASIDE[amount]}
    if rng.random() < 0.7:
        found["percent"] = rng.randint(least, most)
    if rng.random() < 0.8:
        found["consistency"] = list(rng.choice(TEXTURES[texture]))
        found["colour"] = [rng.choice(COLOURS)]
    if rng.random() < 0.5:
        place: dict[str, Any] = {"third": third}
        if rng.random() < 0.5:
            place["depth"] = mm(rng.randint(*THIRDS[third]))
        if amount in ("minimal", "mild") and rng.random() < 0.5:
            place["walls"] = [rng.choice(("anterior wall", "posterior wall", "floor", "roof"))]
        found["place"] = place
    if rng.random() < 0.3:
        found["adherence"] = "free" if texture == "soft" else "adherent to wall"
    return found


def before_with_wax(rng: random.Random, amount: str, texture: str, third: str, device: str) -> dict[str, Any]:
    """What wax of this amount lets one see."""
    seen = {"wax": wax(rng, amount, texture, third), "canal": rng.choice(HEALTHY_CANAL)}
    if amount == "impacted":
        return {
            "view": view(rng, "none" if rng.random() < 0.3 else "partial", "wax", device),
            **seen,
            "canal": "not seen (wax)",
            "drum": "not seen (wax)",
        }
    if amount in ("heavy", "moderate"):
        drum: Any = "not seen (wax)"
        if amount == "moderate" and rng.random() < 0.5:
            drum = {"seen": "partly", "seen_reason": "wax", "findings": ["pearl grey"]}
        return {"view": view(rng, "partial", "wax", device), **seen, "drum": drum}
    return {"view": view(rng, "full", None, device), **seen, "drum": rng.choice(HEALTHY_DRUM)}


def healthy(
    rng: random.Random, device: str | None = None, wax_words: tuple[Any, ...] = ("none", "minimal")
) -> dict[str, Any]:
    """An ear that is well, looked at in full."""
    seen: dict[str, Any] = {
        "view": view(rng, "full", None, device) if rng.random() < 0.7 else "full",
        "wax": rng.choice(wax_words),
        "canal": rng.choice(HEALTHY_CANAL),
        "drum": rng.choice(HEALTHY_DRUM),
    }
    if rng.random() < 0.2:
        seen["outer_ear"] = "normal"
    if rng.random() < 0.15:
        seen["contents"] = ["none"]
    return seen


def cleared(rng: random.Random, device: str) -> dict[str, Any]:
    """The same ear with the wax gone."""
    return healthy(rng, device, ("none", "none", "nil", {"amount": "none", "percent": 0}))


def left_over(rng: random.Random, device: str, percent: int, texture: str) -> dict[str, Any]:
    """The ear after wax was taken out in part: so much of the canal is still filled."""
    amount = next(word for word, (_, most) in AMOUNTS.items() if percent <= most)
    covered = percent > 50
    return {
        "view": view(rng, "partial", "wax", device),
        "wax": {"amount": amount, "percent": percent, "consistency": list(rng.choice(TEXTURES[texture]))},
        "canal": "not seen (wax)" if percent == 100 else rng.choice(HEALTHY_CANAL),
        "drum": "not seen (wax)" if covered else {"seen": "partly", "seen_reason": "wax", "findings": ["pearl grey"]},
    }


def old_findings(rng: random.Random, exam: dict[str, Any]) -> None:
    """Findings that are old, harmless and no reason to do anything else."""
    if rng.random() < 0.15 and exam["drum"] == "normal":
        exam["drum"] = rng.choice((
            ["intact", {"term": "tympanosclerosis", "place": {"parts": ["anteroinferior"]}, "percent": 15}],
            ["intact", "no effusion", "mobile"],
        ))  # fmt: skip
    if rng.random() < 0.1 and exam["canal"] == "normal":
        exam["canal"] = rng.choice((["dry skin"], ["wide"], ["normal migration"], ["no infection"]))


def image(rng: random.Random, number: str, ear: str, stage: str, at: str) -> dict[str, Any]:
    words = rng.choice(("drum", "canal"))
    return {"file": f"{number}-{ear}-{stage}.png", "stage": stage, "view": f"{ear} {words}", "taken_at": at}


def denied(rng: random.Random, all_of_them: bool = False) -> list[str]:
    """What was asked for and is not there."""
    words = ("no pain", "no discharge", "no vertigo", "no bleeding", "no facial weakness", "no tinnitus")
    return list(words) if all_of_them else some(rng, words, 2, 6)
