"""Puts the marks of findings into the drawing, each with its number, and says which found no place in it."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from math import hypot, sqrt

from bridge.ear_words import Ear
from bridge.render.drawing import canal, face, glyphs
from bridge.render.drawing.facts import Fact, Look
from bridge.render.drawing.places import hours, level, stretches
from bridge.render.drawing.sheet import DASHED, INK, Point, circle, num, path, trace
from bridge.render.drawing.tables import Mark, mark
from bridge.render.drawing.tables import spots as parts_of_drum

MOST = 12
"""Marks in one drawing; more could not be told apart."""
TRAY = 41.0
"""Height of the row for what has no recorded place."""
_FILL = re.compile('fill="#[0-9a-f]+"')
TRAYS: dict[str, tuple[float, ...]] = {"canal": (14, 27, 40, 53), "drum": (68, 80, 92)}


@dataclass(slots=True)
class Marked:
    """Marks, numbers on top of them, and what became of each finding."""

    drawn: list[str] = field(default_factory=list)
    leaders: list[str] = field(default_factory=list)
    circles: list[str] = field(default_factory=list)
    numbers: list[str] = field(default_factory=list)
    numbered: list[tuple[int, Fact, bool]] = field(default_factory=list)
    """Number, finding, and whether it stands in the row of those without a recorded place."""
    left_out: list[Fact] = field(default_factory=list)
    explained: set[str] = field(default_factory=set)
    """Which of `box`, `arrow`, `word`, `middle`, `depth` and `doubt` the caption has to explain."""
    trays: dict[str, int] = field(default_factory=dict)
    taken: set[tuple[str, int]] = field(default_factory=set)
    used: list[tuple[float, float, float]] = field(default_factory=list)
    """Where marks stand already, and their radius."""

    @property
    def labels(self) -> str:
        """Numbers, and the lines from them to their marks."""
        if not self.numbers:
            return ""
        lines = path("".join(self.leaders), f'stroke="{INK}" stroke-width=".4"') if self.leaders else ""
        chips = f'<g fill="#fff" stroke="{INK}" stroke-width=".5">{"".join(self.circles)}</g>'
        return f'{lines}{chips}<g fill="{INK}" font-size="4.8">{"".join(self.numbers)}</g>'

    @property
    def tray(self) -> bool:
        return bool(self.trays)


def put_marks(look: Look) -> Marked:
    made = Marked()
    for fact in look.findings:
        shown = mark(fact.concept) if fact.concept else Mark("none", "")
        wanted = fact.assertion in ("present", "suspected") and shown.name != "none"
        number = len(made.numbered) + 1
        if wanted and number <= MOST and (loose := _put(made, look.ear, fact, shown, number)) is not None:
            made.numbered.append((number, fact, loose))
            made.explained |= {"doubt"} if fact.assertion == "suspected" else set()
        else:
            made.left_out.append(fact)
    return made


def _put(made: Marked, ear: Ear, fact: Fact, shown: Mark, number: int) -> bool | None:
    """Whether it went into the row without a place; None where there was no room, or a spot without a place."""
    if fact.stem == "drum":
        placed = _on_drum(made, ear, fact, shown, number)
    elif fact.stem == "outer-ear" and shown.place != "entrance":
        return None
    elif fact.stem == "cavity":
        placed = shown.name == "cavity" and _cavity(made, ear, fact, number)
    else:
        placed = _in_canal(made, ear, fact, shown, number)
    if placed:
        return False
    if shown.name == "spot" or fact.stem == "cavity":
        return None
    return True if _in_tray(made, ear, fact, shown, number) else None


def _on_drum(made: Marked, ear: Ear, fact: Fact, shown: Mark, number: int) -> bool:
    where, scale = fact.where, 1.0
    found = hours(ear, where)
    radius = max(
        (
            parts_of_drum()[p].radius
            for p in where.parts
            if p in parts_of_drum() and parts_of_drum()[p].hour is not None
        ),
        default=0.0,
    )
    radius = 0.84 if "part-marginal" in where.parts else radius or 0.58
    central = "part-central" in where.parts or "part-whole" in where.parts
    if not found and not central and shown.place == "flaccida":
        found, radius = [12.0], parts_of_drum()["part-flaccida"].radius
    if not found and (central or shown.place == "whole"):
        found, radius = [0.0], 0.0
        whole = shown.place == "whole" or "part-whole" in where.parts
        scale = glyphs.WHOLE.get(shown.name, 1.0) if whole else 1.0
    if not found:
        return False
    if shown.name == "hole" and fact.percent is not None:
        scale = max(0.5, face.DRUM * sqrt(fact.percent / 100) / 2.2)
    if shown.name == "hole":
        radius = min(radius, max(0.0, 0.97 - scale * 2.2 / face.DRUM))
    shifts = ((0.0, 0.0),) if scale > 1.8 or radius == 0 else _NEAR
    size = 2.3 * scale if scale < 1.8 else 2.3
    points = [_free(made, [face.spot(ear, h + s, max(0.0, radius - r)) for s, r in shifts], size) for h in found]
    if where.clock:
        made.drawn.append(_doubt(face.arc(ear, where.clock, face.DRUM * 0.92), fact))
    made.drawn += [_glyph(shown.name, p, fact, number, scale=scale) for p in points]
    _number_beside_face(made, ear, fact, number, found[0], points[0])
    return True


def _in_canal(made: Marked, ear: Ear, fact: Fact, shown: Mark, number: int) -> bool:
    along, around = stretches(fact.where), hours(ear, fact.where)
    if shown.place == "entrance":
        along = [(0.0, 0.12)]
    if not along and not around and shown.name == "gone":
        along = [(0.0, 1.0)]
    if along:
        _in_section(made, ear, fact, shown, number, along)
    if around:
        if fact.where.clock:
            made.drawn.append(_doubt(face.arc(ear, fact.where.clock, face.RING - 1), fact))
        points = [_free(made, [face.in_ring(ear, hour + shift) for shift in _BESIDE_HOUR]) for hour in around]
        made.drawn += [_in_ring(shown.name, p, fact, number, bool(along)) for p in points]
        _number_beside_face(made, ear, fact, number, around[0], points[0])
    return bool(along or around)


def _in_section(made: Marked, ear: Ear, fact: Fact, shown: Mark, number: int, along: list[tuple[float, float]]) -> None:
    where = level(ear, fact.where)
    at: Point = (0.0, 0.0)
    for first, last in along:
        long = last - first > 0.5
        for middle in (0.17, 0.5, 0.8) if long and shown.name != "gone" else ((first + last) / 2,):
            if shown.name == "narrow":
                made.drawn.append(_narrow(ear, fact, number, middle))
                continue
            for side in ("roof", "floor") if where == "both" else (where,):
                height = {"roof": 0.0, "floor": 1.0}.get(side, 0.5)
                reach = max(0.0, (last - first) / 2 - 0.05)
                spots = (middle, middle + 0.12, middle - 0.12, middle + 0.2, middle - 0.2)
                at = _free(
                    made, [canal.point(ear, s, height) for s in spots if abs(s - middle) <= reach or s == middle]
                )
                scale = _size(shown.name, fact, 2 if where == "both" else 1)
                made.drawn.append(_glyph(shown.name, at, fact, number, side, scale=scale))
    if where == "middle" and shown.name not in ("narrow", "gone"):
        made.explained.add("middle")
    if fact.where.depth is not None:
        made.explained.add("depth")
        made.drawn.append(canal.mark_depth(ear, min(fact.where.depth / canal.LONG, 0.93)))
    middle = sum(along[0]) / 2
    if shown.name == "narrow":
        at = canal.point(ear, middle, 0.9)
    _number_in_wall(made, ear, fact, number, where == "roof", at)


def _size(name: str, fact: Fact, walls: int) -> float:
    """A growth reaches as far into the canal as it narrows it, where that was recorded."""
    if name == "gone":
        return 2.2
    if fact.percent is None or name not in ("mounds", "stalk", "swelling"):
        return 1.0
    return min(max(fact.percent / 100 * 12 / walls / 5, 0.75), 2.2)


def _narrow(ear: Ear, fact: Fact, number: int, along: float) -> str:
    """Two wedges that leave the share of the width that is still open, as far as it was recorded."""
    (x, top), (_, bottom) = canal.point(ear, along, 0), canal.point(ear, along, 1)
    height = bottom - top
    open_share = 1 - fact.percent / 100 if fact.percent is not None else 0.45
    if fact.percent is None and fact.width is not None:
        open_share = min(fact.width / 7, 1)
    reach = height * (1 - min(max(open_share, 0.0), 0.94)) / 2
    data = f"M{num(x - 3.4)} {num(top)}h6.8l-3.4 {num(reach)}zM{num(x - 3.4)} {num(bottom)}h6.8l-3.4 {num(-reach)}z"
    dashed = DASHED if fact.assertion == "suspected" else ""
    fill = "#fff" if dashed else "#cbbf9f"
    named = f'data-mark="narrow" data-n="{number}"'
    return path(data, f'fill="{fill}" stroke="{INK}" stroke-width=".7" {named}{dashed}')


def _glyph(name: str, at: Point, fact: Fact, number: int, side: str = "middle", *, scale: float = 1.0) -> str:
    """The mark at a place. One that stands on a wall hangs from the roof; in the open its middle is the place."""
    x, y = at
    inner = glyphs.LOOSE.get(name)
    flip, lifted = 1.0, ""
    if inner is None:
        inner = glyphs.ON_WALL[name]
        flip = -1.0 if side == "roof" else 1.0
        lifted = "translate(0 2.2)" if side == "middle" else ""
    elif side != "middle":
        y += 2.9 if side == "roof" else -2.9
    sized = f"scale({scale:.2g} {flip * scale:.2g})" if scale != 1 or flip < 0 else ""
    dashed = ""
    if fact.assertion == "suspected":
        dashed, inner = DASHED, _FILL.sub('fill="#fff"', inner)
    placed = f"translate({num(x)} {num(y)}){sized}{lifted}"
    return (
        f'<g transform="{placed}" stroke="{INK}" stroke-width="{num(0.7 / scale + 0.04)}" '
        f'data-mark="{name}" data-n="{number}"{dashed}>{inner}</g>'
    )


def _in_ring(name: str, at: Point, fact: Fact, number: int, again: bool) -> str:
    """The mark itself, or a plain dot where the long section has the mark already."""
    if not again:
        return _glyph(name, at, fact, number, scale=0.66)
    doubt = fact.assertion == "suspected"
    look = f'fill="#fff" stroke="{INK}" stroke-width=".6"{DASHED}' if doubt else f'fill="{INK}"'
    return circle(*at, 1.5, f'{look} data-mark="dot" data-n="{number}"')


def _cavity(made: Marked, ear: Ear, fact: Fact, number: int) -> bool:
    first = not any(f.stem == "cavity" for _, f, _ in made.numbered)
    if first:
        made.drawn.append(_doubt(face.cavity(ear), fact))
    hour = face.mirrored(ear, 9.6) % 12
    _number_beside_face(made, ear, fact, number, hour, face.in_ring(ear, hour))
    return True


def _doubt(shape: str, fact: Fact) -> str:
    return shape.replace("/>", f"{DASHED}/>", 1) if fact.assertion == "suspected" and shape else shape


def in_tray(ear: Ear, tray: str, number: int) -> float:
    """Where a mark of the row stands, its number to the right of it: from left to right in both ears."""
    places = TRAYS[tray]
    return places[number] if ear == "right" else canal.WIDTH - places[len(places) - 1 - number] - 6


def _in_tray(made: Marked, ear: Ear, fact: Fact, shown: Mark, number: int) -> bool:
    tray = "drum" if fact.stem == "drum" else "canal"
    used = made.trays.get(tray, 0)
    if used >= len(TRAYS[tray]):
        return False
    made.trays[tray] = used + 1
    made.explained.add("box")
    x = in_tray(ear, tray, used)
    made.drawn.append(_glyph(shown.name, (x, TRAY), fact, number))
    _chip(made, (x + 6, TRAY), number, fact)
    return True


def _number_in_wall(made: Marked, ear: Ear, fact: Fact, number: int, above: bool, at: Point) -> None:
    row = "roof" if above else "floor"
    wanted = round(((canal.across(ear, at[0]) - canal.ENTRANCE) / canal.LENGTH - 0.06) / 0.15)
    slot = next((s for s in _outward(wanted, 0, 6) if (row, s) not in made.taken), None)
    if slot is None:
        return
    made.taken.add((row, slot))
    place = canal.in_wall(ear, 0.06 + slot * 0.15, above)
    made.leaders.append(trace([place, at]))
    _chip(made, place, number, fact)


def _number_beside_face(made: Marked, ear: Ear, fact: Fact, number: int, hour: float, at: Point) -> None:
    """In the nearest free of eight places beside the ring."""
    x, y = face.hub(ear)
    places = [(x + side * (face.RING + far), y + off) for off, far in _BESIDE for side in (1, -1)]
    order = sorted(range(len(places)), key=lambda i: (places[i][0] - at[0]) ** 2 + (places[i][1] - at[1]) ** 2)
    slot = next((s for s in order if ("face", s) not in made.taken), None)
    if slot is None:
        return
    made.taken.add(("face", slot))
    made.leaders.append(trace([places[slot], at]))
    _chip(made, places[slot], number, fact)


_NEAR = ((0.0, 0.0), (0.7, 0.1), (-0.7, 0.1), (0.3, 0.25), (-0.3, 0.25))
"""Hours and shares of the radius by which a mark may move aside inside a quarter of the drum."""
_BESIDE_HOUR = (0.0, 0.9, -0.9)
_BESIDE = ((-7.0, 2.0), (7.0, 2.0), (-13.6, -2.0), (12.9, -2.0))
"""Height above or below the middle of the face, and distance from the ring's side."""


def _outward(wanted: int, least: int, most: int) -> list[int]:
    return sorted(range(least, most + 1), key=lambda s: (abs(s - wanted), s))


def _chip(made: Marked, at: Point, number: int, fact: Fact) -> None:
    (x, y), doubt = at, fact.assertion == "suspected"
    words = f"{number}?" if doubt else str(number)
    made.circles.append(circle(x, y, 3 if len(words) == 1 else 3.6, DASHED if doubt else ""))
    size = ' font-size="4.2"' if len(words) > 1 else ""
    made.numbers.append(f'<text x="{num(x)}" y="{num(y + 1.6)}"{size}>{words}</text>')


def _free(made: Marked, candidates: list[Point], radius: float = 2.3) -> Point:
    """The first place where no mark stands yet, else the one with most room; all mean the same place of the ear."""

    def room(at: Point) -> float:
        return min((hypot(at[0] - x, at[1] - y) - r for x, y, r in made.used), default=99)

    found = next((c for c in candidates if room(c) > radius), None) or max(candidates, key=room)
    made.used.append((*found, radius))
    return found
