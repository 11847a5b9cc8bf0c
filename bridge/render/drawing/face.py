"""The drum as a clock face, as one sees it who looks into that ear; around it the wall of the canal as a ring.

Hours turn clockwise in both ears, so front and back change places: front is at 3 in a right ear, at 9 in a left one.
Mirror rule: an hour of a right ear is 12 less that hour in a left one.
"""

from __future__ import annotations

from functools import cache
from math import sqrt

from bridge.ear_words import Ear
from bridge.render.drawing import sheet
from bridge.render.drawing.canal import across
from bridge.render.drawing.sheet import DOTTED, INK, QUIET, Point, circle, dots, on_circle, pair, path, text, trace
from bridge.wording import say

HUB_X, HUB_Y = 81.4, 19.4
DRUM, RING = 10.6, 14.6


def hub(ear: Ear) -> Point:
    return across(ear, HUB_X), HUB_Y


def mirrored(ear: Ear, hour: float) -> float:
    """The hour of this ear for what lies at that hour in a right ear."""
    return hour if ear == "right" else 12 - hour


def spot(ear: Ear, hour: float, radius: float) -> Point:
    """A place on the drum: hour of this ear, share of the drum's radius."""
    return on_circle(hub(ear), DRUM * radius, hour)


def in_ring(ear: Ear, hour: float) -> Point:
    return on_circle(hub(ear), (DRUM + RING) / 2, hour)


@cache
def _dial(ear: Ear, known: bool) -> str:
    centre = hub(ear)
    style = f'stroke="{INK}" stroke-width=".6"{"" if known else DOTTED}'
    ticks = "".join(
        trace([on_circle(centre, RING, hour), on_circle(centre, RING + (1.5 if hour % 3 == 0 else 0.9), hour)])
        for hour in range(12)
    )
    fill = 'fill="#f1e7dc"' if known else 'fill="#fff"'
    return circle(*centre, RING, f"{fill} {style}") + path(ticks, f'stroke="{INK}" stroke-width=".5"')


def dial(ear: Ear, canal_known: bool) -> str:
    """Ring, ticks of the hours, 12, and the letters for front and back."""
    x, y = hub(ear)
    front, back = say("drawing.letter.front"), say("drawing.letter.back")
    right, left = (front, back) if ear == "right" else (back, front)
    return _dial(ear, canal_known) + (
        f'<g fill="{INK}">{text(x, y - RING - 1.2, 3.8, "12")}'
        f"{text(x + RING + 3.6, y + 1.7, 4.8, right)}{text(x - RING - 3.6, y + 1.7, 4.8, left)}</g>"
    )


def disc(ear: Ear, style: str) -> str:
    """The drum itself; `style`: plain, partly, dotted, outlined or hatched."""
    centre = hub(ear)
    edge = f'stroke="{INK}" stroke-width="{1.5 if style == "outlined" else 0.9}"{DOTTED if style == "dotted" else ""}'
    drawn = circle(*centre, DRUM, f'fill="#fff" {edge}')
    gap = {"hatched": 2.2, "partly": 4.4}.get(style)
    return drawn + (
        path(_chords(centre, gap), f'stroke="{INK}" stroke-width="{0.5 if gap < 3 else 0.3}"') if gap else ""
    )


def _chords(centre: Point, gap: float) -> str:
    x, y, slope = *centre, sqrt(0.5)
    data, count = [], int(DRUM / gap)
    for number in range(-count, count + 1):
        off = number * gap
        half = sqrt(DRUM * DRUM - off * off) * slope
        mx, my = x + off * slope, y + off * slope
        data.append(trace([(mx - half, my + half), (mx + half, my - half)]))
    return "".join(data)


@cache
def landmarks(ear: Ear, reflex: bool) -> str:
    """The handle of the malleus, for bearings; the light reflex only where the drum looked normal or it was seen."""
    top, tip = spot(ear, mirrored(ear, 0.7), 0.74), spot(ear, mirrored(ear, 8), 0.08)
    handle = path(trace([top, tip]), f'stroke="{QUIET}" stroke-width="1.1" stroke-linecap="round"')
    if not reflex:
        return handle
    cone = [tip, spot(ear, mirrored(ear, 4.55), 0.86), spot(ear, mirrored(ear, 5.35), 0.86)]
    return handle + path(trace(cone, closed=True), f'stroke="{QUIET}" stroke-width=".5"')


def sector(ear: Ear, first: float, last: float, fill: str, dot: str) -> str:
    """A stretch of the ring, clockwise from one hour to another, filled and stippled; one hour has a little on both
    sides."""
    centre = hub(ear)
    if (last - first) % 12 < 0.1:
        first, last = first - 0.6, first + 0.6
    span = (last - first) % 12
    outer = sheet.start(centre, RING, first) + sheet.turn(centre, RING, first, last)
    x, y = on_circle(centre, DRUM, last)
    shape = f"{outer}L{pair(x, y)}{sheet.turn(centre, DRUM, last, first, clockwise=False)}z"
    count = max(2, round(span * 2))
    inner = [on_circle(centre, (DRUM + RING) / 2, first + span * (i + 0.5) / count) for i in range(count)]
    return path(shape, f'fill="{fill}" stroke="{INK}" stroke-width=".7"') + dots(inner, 0.9, dot)


def arc(ear: Ear, hours: tuple[int, int], radius: float) -> str:
    """A line along the clock from one hour to another, with an end mark at both."""
    centre, (first, last) = hub(ear), hours
    if first == last:
        return ""
    data = sheet.start(centre, radius, first) + sheet.turn(centre, radius, first, last)
    for hour in (first, last):
        data += trace([on_circle(centre, radius - 0.9, hour), on_circle(centre, radius + 0.9, hour)])
    return path(data, f'stroke="{INK}" stroke-width=".7"')


def cavity(ear: Ear) -> str:
    """A bowl behind the ring at the back: a mastoid cavity."""
    centre = hub(ear)
    first, last = mirrored(ear, 8.3), mirrored(ear, 10.9)
    (x1, y1), (x2, y2) = on_circle(centre, RING, first), on_circle(centre, RING, last)
    (a1, b1), (a2, b2) = on_circle(centre, RING + 8, first), on_circle(centre, RING + 8, last)
    data = f"M{pair(x1, y1)}C{pair(a1, b1)} {pair(a2, b2)} {pair(x2, y2)}"
    return path(data, f'stroke="{INK}" stroke-width="1"')
