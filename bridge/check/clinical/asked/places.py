"""Clock positions against walls and parts of the drum, and tubes against the width of the canal."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from bridge.check.clinical.answers import Answer
from bridge.check.clinical.asked import asked
from bridge.check.clinical.asked.meant import group
from bridge.check.clinical.context import Context
from bridge.check.clinical.fields import stated
from bridge.check.clinical.kinds_numbers import in_unit
from bridge.fhir.systems import OWN

_HOURS = {
    "wall-superior": 12.0, "wall-anterior": 3.0, "wall-inferior": 6.0, "wall-posterior": 9.0,
    "part-superior": 12.0, "part-anterior": 3.0, "part-inferior": 6.0, "part-posterior": 9.0,
    "part-anterosuperior": 1.5, "part-anteroinferior": 4.5, "part-posteroinferior": 7.5, "part-posterosuperior": 10.5,
}  # fmt: skip
"""Where each lies on the clock of a right ear; a left one is its mirror."""
_WALL_ROOM = 2.0
_PART_ROOM = 2.5
"""Hours that a clock position may lie beside a wall, or beside the middle of a part of the drum."""
_QUARTER = 3
"""Hours from the middle of one half of the drum to its edge."""
_WIDEST = Decimal(10)
"""Millimetres of the widest canal in general reference pages."""


def _hour(concept: str, context: Context) -> float | None:
    hour = _HOURS.get(concept)
    return hour if hour is None or context.ear == "right" else (12 - hour) % 12


def _away(hour: float, first: int, last: int) -> float:
    """Hours between a point and the arc that runs clockwise from the first to the last hour."""
    if (hour - first) % 12 <= (last - first) % 12:
        return 0.0
    return min((first - hour) % 12, (hour - last) % 12)


def _at_odds(terms: Any, place: Any, room: float, context: Context) -> Answer:
    if place.clock_from is None:
        return None
    codes = [c.code for term in terms for c in term.codings if c.system == OWN]
    if not codes:
        return None
    hours = [hour for code in codes if (hour := _hour(code, context)) is not None]
    first, last = place.clock_from, place.clock_to or place.clock_from
    return any(_away(hour, first, last) > room for hour in hours)


@asked("clock_against_wall", fields=("item.clock_from", "item.clock_to", "item.walls"))
def clock_against_wall(context: Context) -> Answer:
    """Whether a clock position lies more than two hours beside a wall that is named with it."""
    return _at_odds(context.item.walls, context.item, _WALL_ROOM, context)


@asked("clock_against_part", fields=("item.clock_from", "item.clock_to", "item.parts"))
def clock_against_part(context: Context) -> Answer:
    """Whether a clock position lies outside of a part of the drum that is named with it, and of the hour around it."""
    return _at_odds(context.item.parts, context.item, _PART_ROOM, context)


@asked("reflex_behind", fields=("item.place.clock_from", "item.place.parts"))
def reflex_behind(context: Context) -> Answer:
    """Whether a light reflex is told in the posterior half of the drum; it lies in front and below."""
    place = context.item.place
    if place is None:
        return None
    if place.clock_from is not None:
        first, last = place.clock_from, place.clock_to or place.clock_from
        front, back = (3, 9) if context.ear == "right" else (9, 3)
        return _away(back, first, last) < _QUARTER <= _away(front, first, last)
    codes = {c.code for term in place.parts for c in term.codings if c.system == OWN}
    if codes & {"part-posterior", "part-posteroinferior", "part-posterosuperior"}:
        return True
    return False if codes & {"part-anterior", "part-anteroinferior", "part-anterosuperior", "part-inferior"} else None


@asked("wider_than_lumen", fields=("item.size", "ear.before.canal.findings"))
def wider_than_lumen(context: Context) -> Answer:
    """Whether an instrument is wider than what is left of a narrow canal. Not known of a gauge."""
    widths = [w for finding in _narrowings(context) if (w := _lumen(finding)) is not None]
    size = in_unit(context.item.size, "mm")
    return None if not widths or size is None else size > min(widths)


@asked("wider_than_entrance", fields=("item.speculum", "ear.before.canal.findings"))
def wider_than_entrance(context: Context) -> Answer:
    """Whether a speculum is wider than a canal that is narrow in its outer third. Not known where the place is not."""
    known: Answer = False
    size = in_unit(context.item.speculum, "mm")
    for finding in _narrowings(context):
        width = _lumen(finding)
        if width is None:
            continue
        third = finding.place.third if finding.place else None
        codes = {c.code for c in third.codings} if third else set()
        if size is None or not codes:
            known = None
        elif size > width and codes & group("third-of-cartilage"):
            return True
    return known


def _narrowings(context: Context) -> list[Any]:
    narrow = group("narrowing-of-canal")
    listed = stated("ear.before.canal.findings", context)
    return [one.item for one in listed if one.said == "present" and one.concepts & narrow]


def _lumen(finding: Any) -> Decimal | None:
    """The most that can be open, in mm: the width told, or what the percentage leaves of the widest canal."""
    if finding.width is not None:
        return in_unit(finding.width, "mm")
    if finding.percent is None:
        return None
    return _WIDEST * (Decimal(100 - finding.percent) / 100).sqrt()
