"""The long section of the canal, as one sees it who sits opposite: a right ear opens to the left edge, a left one to
the right edge, so that both drums lie towards the middle of the page. Up is up; front and back are not in this section.

Shape from general anatomy: the outer third is cartilage, the rest bone, the narrowest place lies just inside where they
meet, and the drum slants so that the roof ends sooner than the floor.
"""

from __future__ import annotations

from functools import cache, lru_cache

from bridge.ear_words import Ear
from bridge.render.drawing.sheet import DASHED, DOTTED, INK, QUIET, Point, dots, num, pair, path, trace

WIDTH = 102.0
ENTRANCE, LENGTH = 12.5, 44.0
_AT = (0.0, 0.37, 0.75, 1.0)
_ROOF = (8.6, 12.4, 11.0, 11.4)
_FLOOR = (26.4, 22.8, 25.0, 25.4)
_WALL = 5.6
LONG = 25.0
"""Millimetres of the canal drawn: an adult's is about that long."""
_CARTILAGE, _BONE = "#f4e3d8", "#e9e4d6"
WAX, WAX_DOT = "#e6bd7b", "#5a3a00"


def across(ear: Ear, x: float) -> float:
    """Mirrors what is reckoned for a right ear."""
    return x if ear == "right" else WIDTH - x


def end(level: float) -> float:
    """Where the drum closes the canal at a level: 0 at the roof, 1 at the floor."""
    return 0.93 + 0.07 * level


def _height(curve: tuple[float, ...], along: float) -> float:
    """The curve at a share of the length, eased between its points."""
    along = min(max(along, 0.0), 1.0)
    for number in range(1, len(_AT)):
        if along <= _AT[number]:
            part = (along - _AT[number - 1]) / (_AT[number] - _AT[number - 1])
            return curve[number - 1] + (curve[number] - curve[number - 1]) * (3 - 2 * part) * part * part
    return curve[-1]


@lru_cache(4096)
def roof(along: float) -> float:
    return _height(_ROOF, along)


@lru_cache(4096)
def floor(along: float) -> float:
    return _height(_FLOOR, along)


def point(ear: Ear, along: float, level: float) -> Point:
    """A place in the canal: share of the length, and level from the roof (0) to the floor (1)."""
    along = min(along, end(level))
    top = roof(along)
    return across(ear, ENTRANCE + LENGTH * along), top + (floor(along) - top) * level


def in_wall(ear: Ear, along: float, above: bool) -> Point:
    """The middle of the wall above or below the canal."""
    y = roof(along) - _WALL / 2 if above else floor(along) + _WALL / 2
    return across(ear, ENTRANCE + LENGTH * along), y


def _steps(first: float, last: float) -> list[float]:
    count = max(2, round((last - first) * 14))
    return [first + (last - first) * i / count for i in range(count + 1)]


def region(ear: Ear, first: float, last: float, top: float, bottom: float) -> list[Point]:
    """The outline of a stretch of the canal between two levels."""
    upper = [point(ear, s, top) for s in _steps(first, min(last, end(top)))]
    lower = [point(ear, s, bottom) for s in _steps(first, min(last, end(bottom)))]
    return upper + lower[::-1]


@cache
def walls(ear: Ear, style: str) -> str:
    """Cartilage, bone and the opening; `style`: filled, open (only the edges), or dotted."""
    parts = []
    if style == "filled":
        for first, last, fill in ((0.0, 0.36, _CARTILAGE), (0.36, 1.0, _BONE)):
            bands = (trace(_band(ear, first, last, above), closed=True) for above in (True, False))
            parts.append(path("".join(bands), f'fill="{fill}"'))
    edges = ""
    for above in (True, False):
        inner = [point(ear, s, 0 if above else 1) for s in _steps(0, 1)]
        (x, y), out, side = inner[0], -1 if above else 1, 1 if ear == "right" else -1
        outside = f"M{pair(x - 4.6 * side, y + 7.4 * out)}"
        edges += f"{outside}q{pair(0.4 * side, -6.4 * out)} {pair(4.6 * side, -7.4 * out)}{trace(inner)}"
    dotted = DOTTED if style == "dotted" else ""
    parts.append(path(edges, f'stroke="{INK}" stroke-width=".9"{dotted}'))
    thirds = "".join(
        f"M{num(across(ear, ENTRANCE + LENGTH * s))} {num(roof(s) - _WALL)}V{num(floor(s) + _WALL)}"
        for s in (1 / 3, 2 / 3)
    )
    return "".join(parts) + path(thirds, f'stroke="{QUIET}" stroke-width=".35" stroke-dasharray="1 1"')


def _band(ear: Ear, first: float, last: float, above: bool) -> list[Point]:
    """The outline of a stretch of the wall."""
    curve, out = (roof, -_WALL) if above else (floor, _WALL)
    inner = [(ENTRANCE + LENGTH * s, curve(s)) for s in _steps(first, last)]
    outer = [(x, y + out) for x, y in reversed(inner)]
    if first == 0:
        (x, y), turn = inner[0], out / _WALL
        inner = [(x - 4.6, y + 7.4 * turn), (x - 4, y + 3.4 * turn), (x - 2.4, y + 1.2 * turn), *inner]
    return [(across(ear, x), y) for x, y in inner + outer]


@cache
def hatched_walls(ear: Ear) -> str:
    """Slanting lines on both walls."""
    data = []
    for number in range(1, 18):
        start = number * 0.056
        for above in (True, False):
            x, y = in_wall(ear, start, above)
            data.append(f"M{num(x - 1.4)} {num(y + _WALL / 2)}l2.8 {num(-_WALL)}")
    return path("".join(data), f'stroke="{INK}" stroke-width=".5"')


@cache
def drum_line(ear: Ear, style: str) -> str:
    """The drum across the end of the canal; `style`: plain, dotted, outlined or hatched."""
    (x1, y1), (x2, y2) = point(ear, 1, 0), point(ear, 1, 1)
    bow = 3.2 if ear == "right" else -3.2
    control = (x1 + x2) / 2 + bow
    line = f"M{num(x1)} {num(y1)}Q{num(control)} {num((y1 + y2) / 2 + 1)} {num(x2)} {num(y2)}"
    behind = f"M{num(x1)} {num(y1)}C{num(x1 + 2.6 * bow)} {num(y1)} {num(x2 + 1.8 * bow)} {num(y2)} {num(x2)} {num(y2)}"
    quiet = path(behind, f'stroke="{QUIET}" stroke-width=".4"')
    if style == "dotted":
        return quiet + path(line, f'stroke="{INK}" stroke-width="1.1"{DOTTED}')
    double = path(line, 'stroke="#fff" stroke-width="1"') if style in ("outlined", "hatched") else ""
    ticks = path(line, f'stroke="{INK}" stroke-width="1.2" stroke-dasharray=".5 1.3"') if style == "hatched" else ""
    width = "2" if double else "1.3"
    return quiet + path(line, f'stroke="{INK}" stroke-width="{width}"') + double + ticks


@cache
def hatching(ear: Ear) -> str:
    """Slanting lines over the whole of the canal."""
    data = []
    for number in range(1, 15):
        start = number * 0.065
        a, b = point(ear, start - 0.065, 1), point(ear, start + 0.065, 0)
        if start + 0.065 <= end(0):
            data.append(trace([a, b]))
    return path("".join(data), f'stroke="{INK}" stroke-width=".5"')


@cache
def axis(ear: Ear) -> str:
    """A dotted line along the middle: nothing is recorded of what lies in the canal."""
    return path(trace([point(ear, s, 0.5) for s in _steps(0.04, 0.9)]), f'stroke="{INK}" stroke-width="1"{DOTTED}')


def wax(ear: Ear, first: float, last: float, spans: list[tuple[float, float]], edge: str) -> str:
    """Stippled wax; `edge`: plain, dashed where it is not known how much, none where its place is not known."""
    made = []
    for top, bottom in spans:
        outline = region(ear, first, last, top, bottom)
        stroke = "" if edge == "none" else f'stroke="{INK}" stroke-width=".8"{DASHED if edge == "dashed" else ""}'
        made.append(path(trace(outline, closed=True), f'fill="{WAX}" {stroke}'))
        made.append(dots(_lattice(ear, first, last, top, bottom), 0.9, WAX_DOT))
    return "".join(made)


def _lattice(ear: Ear, first: float, last: float, top: float, bottom: float) -> list[Point]:
    found = []
    columns = max(1, round((last - first) * LENGTH / 3))
    for column in range(columns):
        along = first + (last - first) * (column + 0.5) / columns
        x, y1 = point(ear, along, top)
        _, y2 = point(ear, along, bottom)
        rows = max(1, int((y2 - y1) / 2.8))
        shift = 0.3 if column % 2 else -0.3
        levels = [(row + 0.5 + (shift if rows > 1 else 0)) / rows for row in range(rows)]
        found += [(x, y1 + (y2 - y1) * level) for level in levels if along <= end(top + (bottom - top) * level) - 0.01]
    return found


@lru_cache(256)
def arrow_along(ear: Ear, height: float) -> str:
    """An arrow with two heads, the length of the canal, at a level of it: somewhere along here."""
    (x1, y1), (x2, y2) = point(ear, 0.06, height), point(ear, 0.88, height)
    turn = 1.6 if x1 < x2 else -1.6
    middle = [point(ear, s, height) for s in _steps(0.06, 0.88)]
    near = trace([(x1 + turn, y1 - 1.4), (x1, y1), (x1 + turn, y1 + 1.4)])
    line = trace(middle) + near + trace([(x2 - turn, y2 - 1.4), (x2, y2), (x2 - turn, y2 + 1.4)])
    return path(line, 'stroke="#fff" stroke-width="2"') + path(line, f'stroke="{INK}" stroke-width=".7"')


def mark_depth(ear: Ear, along: float) -> str:
    """A small wedge over the roof that points at a depth."""
    x, y = point(ear, along, 0)
    return path(f"M{num(x - 1.3)} {num(y - 3)}h2.6l-1.3 2.6z", f'fill="{INK}"')
