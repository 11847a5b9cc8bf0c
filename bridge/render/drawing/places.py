"""From a recorded place to hours of the clock and stretches of the canal. What was not recorded gives nothing."""

from __future__ import annotations

from typing import Literal

from bridge.ear_words import Ear
from bridge.render.drawing.canal import LONG
from bridge.render.drawing.face import mirrored
from bridge.render.drawing.facts import Where
from bridge.render.drawing.tables import spots, thirds

Level = Literal["roof", "floor", "both", "middle"]
"""middle: neither, so also where no wall was recorded."""


def stretches(where: Where) -> list[tuple[float, float]]:
    """Stretches of the canal, each first and last share of its length; a depth is a short one around it."""
    found = [thirds()[t] for t in where.thirds if t in thirds()]
    if not found and where.depth is not None:
        middle = min(where.depth / LONG, 0.95)
        found = [(max(0.0, middle - 0.08), min(1.0, middle + 0.08))]
    return list(dict.fromkeys(found))


def hours(ear: Ear, where: Where) -> list[float]:
    """Hours of this ear at which it lies: the clock's middle, walls, quarters of the drum; four for all round."""
    found: list[float] = []
    if where.clock:
        first, last = where.clock
        found.append((first + ((last - first) % 12) / 2) % 12)
    for name in where.walls:
        if name == "wall-all":
            found += [0, 3, 6, 9]
    for name in (*where.walls, *where.parts):
        spot = spots().get(name)
        if spot is not None and spot.hour is not None and not (name in where.parts and spot.radius == 0):
            hour = mirrored(ear, spot.hour) % 12
            found += [] if _within(where, hour) or any(_apart(hour, other) <= 2 for other in found) else [hour]
    return found


def _within(where: Where, hour: float) -> bool:
    """Whether the recorded stretch of the clock reaches as far as this hour: the two then tell of one place."""
    if where.clock is None:
        return False
    first, last = where.clock
    return (hour - first + 1) % 12 <= (last - first) % 12 + 2


def spans(ear: Ear, where: Where) -> list[tuple[float, float]]:
    """Stretches of the ring, clockwise: the clock's own, else an hour and a half to both sides of a wall."""
    if where.clock:
        first, last = where.clock
        return [(float(first), float(last))]
    if "wall-all" in where.walls:
        return [(0.0, 11.99)]
    walls = (spots()[w].hour for w in where.walls if w in spots())
    middles = [mirrored(ear, hour) for hour in walls if hour is not None]
    return [((hour - 1.5) % 12, (hour + 1.5) % 12) for hour in middles]


def level(ear: Ear, where: Where) -> Level:
    """Which wall of the long section it stands on. Front and back lie before and behind the section."""
    if where.clock:
        first, last = where.clock
        length = (last - first) % 12
        top, bottom = (12 - first) % 12 <= length, (6 - first) % 12 <= length
        if not top and not bottom and length <= 2:
            middle = (first + length / 2) % 12
            top, bottom = _apart(middle, 0) <= 1.5, _apart(middle, 6) <= 1.5
    else:
        top = any(w in ("wall-superior", "wall-all") for w in where.walls)
        bottom = any(w in ("wall-inferior", "wall-all") for w in where.walls)
    return "both" if top and bottom else "roof" if top else "floor" if bottom else "middle"


def _apart(one: float, other: float) -> float:
    gap = abs(one - other) % 12
    return min(gap, 12 - gap)
