"""Hearing of a clean visit: what is measured agrees with the wax in the way and with what the client says after."""

from __future__ import annotations

import random
from typing import Any

FREQUENCIES = (250, 500, 1000, 2000, 4000, 8000)


def cochlea(rng: random.Random, age: int) -> list[int]:
    """Bone conduction of both ears of somebody of this age: flat when young, falling with the years."""
    slope = max(0, (age - 40) // 10)
    first = rng.choice((5, 10))
    return [first + 5 * ((slope * step) // 2) for step in range(6)]


def thresholds(bone: list[int], gap: int) -> list[dict[str, Any]]:
    """Air conduction at six frequencies, bone conduction at three."""
    levels = zip(FREQUENCIES, bone, strict=True)
    air = [{"frequency": f, "level": min(level + gap, 100), "conduction": "air"} for f, level in levels]
    inner = [{"frequency": f, "level": bone[i + 1], "conduction": "bone"} for i, f in enumerate((500, 1000, 2000))]
    return air + inner


def blocked(rng: random.Random, bone: list[int], gap: int) -> dict[str, Any]:
    """An ear with the canal shut by wax: what reaches it through the air is damped."""
    tests: dict[str, Any] = {"thresholds": thresholds(bone, gap)}
    if gap >= 25:
        tests["rinne"] = "negative"
    return tests


def open_ear(rng: random.Random, bone: list[int], tympanometry: bool) -> dict[str, Any]:
    """The same ear with the canal open and a whole drum."""
    tests: dict[str, Any] = {"thresholds": thresholds(bone, 0), "rinne": "positive"}
    if tympanometry:
        tests["tympanometry"] = {
            "type": "A",
            "peak_pressure": {"value": rng.choice((-40, -20, 0, 10, 25)), "unit": "daPa"},
            "admittance": {"value": rng.choice((0.5, 0.7, 0.9, 1.2)), "unit": "cm3"},
            "canal_volume": {"value": rng.choice((0.9, 1.1, 1.3)), "unit": "cm3"},
            "probe": {"value": 226, "unit": "Hz"},
        }
    return tests
