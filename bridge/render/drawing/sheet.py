"""The few shapes that drawings are made of, as SVG text. No ids, no styles, no scripts: several may share a page."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from html import escape
from math import cos, radians, sin

Point = tuple[float, float]
INK = "#1a1a1a"
QUIET = "#8a8a8a"
DASHED = ' stroke-dasharray="1.6 1.1"'
DOTTED = ' stroke-dasharray="0 1.7" stroke-linecap="round"'


def num(value: float) -> str:
    """One digit after the point at most."""
    return _tenths(round(value * 10))


@lru_cache(4096)
def _tenths(value: int) -> str:
    whole, rest = divmod(abs(value), 10)
    text = f"{whole or ''}.{rest}" if rest else str(whole)
    return f"-{text}" if value < 0 else text


def pair(x: float, y: float) -> str:
    """Two numbers of path data, without a blank where the second has a sign of its own."""
    second = num(y)
    return num(x) + (second if second[0] == "-" else f" {second}")


def trace(points: Iterable[Point], closed: bool = False) -> str:
    """Straight lines through the points, as path data: each step from the point before, which is shorter."""
    data = ""
    before_x = before_y = 0
    for number, (x, y) in enumerate(points):
        here_x, here_y = round(x * 10), round(y * 10)
        for step in (here_x - before_x, here_y - before_y):
            shown = _tenths(step)
            blank = "" if data == "" or data[-1] in "Ml" or shown[0] == "-" else " "
            data += (blank if data else "M") + shown
        data += "l" if number == 0 else ""
        before_x, before_y = here_x, here_y
    data = data.removesuffix("l")
    return f"{data}z" if closed else data


def path(data: str, attributes: str = "") -> str:
    return f'<path d="{data}"{" " + attributes.strip() if attributes else ""}/>'


def circle(x: float, y: float, radius: float, attributes: str = "") -> str:
    more = " " + attributes.strip() if attributes else ""
    return f'<circle cx="{num(x)}" cy="{num(y)}" r="{num(radius)}"{more}/>'


def text(x: float, y: float, size: float, words: str, attributes: str = "") -> str:
    """Centred words; `y` is the base line."""
    more = " " + attributes.strip() if attributes else ""
    return f'<text x="{num(x)}" y="{num(y)}" font-size="{num(size)}"{more}>{escape(words)}</text>'


def on_circle(centre: Point, radius: float, hour: float) -> Point:
    """The point at an hour of a clock face."""
    turn = radians(hour * 30)
    return centre[0] + radius * sin(turn), centre[1] - radius * cos(turn)


def turn(centre: Point, radius: float, first: float, last: float, clockwise: bool = True) -> str:
    """Path data of an arc from where the path stands, at hour `first`, to hour `last`."""
    long = (last - first) % 12 > 6 if clockwise else (first - last) % 12 > 6
    x, y = on_circle(centre, radius, last)
    return f"A{num(radius)} {num(radius)} 0 {int(long)} {int(clockwise)} {pair(x, y)}"


def start(centre: Point, radius: float, hour: float) -> str:
    x, y = on_circle(centre, radius, hour)
    return f"M{pair(x, y)}"


def dots(points: Iterable[Point], width: float, colour: str = INK) -> str:
    """Round dots as one path."""
    data = "".join(f"M{pair(x, y)}h0" for x, y in points)
    return f'<path d="{data}" stroke="{colour}" stroke-width="{num(width)}" stroke-linecap="round"/>' if data else ""


def document(width: float, height: float, inner: str) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {num(width)} {num(height)}" font-family="sans-serif" '
        f'text-anchor="middle" fill="none" stroke-linejoin="round">'
        f'<rect width="{num(width)}" height="{num(height)}" fill="#fff"/>{inner}</svg>'
    )
