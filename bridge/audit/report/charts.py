"""Charts drawn by hand as SVG: every value stands as text beside its mark, and nothing is told by colour alone.

Each has a title and a description for those who hear the page. Looks come from the page's own style, by class.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from itertools import groupby, pairwise

from bridge.audit.report.words import percent
from bridge.safe_text import plain

WIDTH, LABEL = 680, 350
NARROW, NARROW_LABEL = 440, 200
"""Two narrow charts stand side by side. Labels take no more room than this, and no more than they need."""
LEAST_LABEL = 60
LETTER = 7.6
"""Room for one letter of a label."""
VALUE = 118
ROW = 26
PLOT = 110
"""Height of a line's plot."""
LEFT = 46
WORDS = 78
"""Width of the longest words below a point."""


@dataclass(frozen=True, slots=True)
class Bar:
    label: str
    parts: tuple[float, ...]
    """Shares of the whole width, one behind the other; each part after the first has a look of its own."""
    told: str


@dataclass(frozen=True, slots=True)
class Point:
    label: str
    share: float | None
    """None where there is nothing to show: the line has a gap there."""


def bars(key: str, title: str, about: str, rows: Sequence[Bar], *, narrow: bool = False) -> str:
    """Bars from the left, the longest possible is 100 percent; labels are cut, the table behind has them whole."""
    width, most = (NARROW, NARROW_LABEL) if narrow else (WIDTH, LABEL)
    label = min(most, max(LEAST_LABEL, *(int(LETTER * len(plain(row.label))) + 12 for row in rows)))
    return _svg(key, title, about, (width, ROW * len(rows) + 8), _bar_rows(rows, width, label))


def _bar_rows(rows: Sequence[Bar], width: int, label: int) -> Iterator[str]:
    room = width - label - VALUE
    for at, row in enumerate(rows):
        top = at * ROW + 4
        yield f'<text class="name" x="{label - 8}" y="{top + 14}">{_cut(row.label, int((label - 8) / LETTER))}</text>'
        yield _block("whole", label, top, room)
        start = 0.0
        for look, share in enumerate(row.parts):
            long = max(0.0, min(share, 1 - start)) * room
            if long:
                yield _block(f"part-{min(look, 3)}", label + start * room, top, long)
            start += max(0.0, share)
        yield f'<text class="value" x="{label + room + 8}" y="{top + 14}">{_cut(row.told, 22)}</text>'


def _block(look: str, x: float, y: float, width: float) -> str:
    return f'<rect class="{look}" x="{x:.1f}" y="{y}" width="{width:.1f}" height="{ROW - 8}"/>'


def line(key: str, title: str, about: str, points: Sequence[Point]) -> str:
    """Shares over months. The scale always runs from 0 to 100 percent, so that small changes look small."""
    return _svg(key, title, about, (NARROW, PLOT + 60), _line(points))


def _line(points: Sequence[Point]) -> Iterator[str]:
    for share in (0, 0.5, 1):
        y = _height(share)
        yield f'<path class="grid" d="M{LEFT} {y:.1f}H{NARROW}"/>'
        yield f'<text class="name" x="{LEFT - 6}" y="{y + 4:.1f}">{100 * share:.0f} %</text>'
    step = (NARROW - LEFT - 24) / max(len(points) - 1, 1)
    across = [LEFT + 8 + at * step for at in range(len(points))]
    places = [
        None if point.share is None else (x, _height(point.share)) for x, point in zip(across, points, strict=True)
    ]
    for there, run in groupby(places, key=bool):
        path = "L".join(f"{place[0]:.1f} {place[1]:.1f}" for place in run if place)
        if there and "L" in path:
            yield f'<path class="line" d="M{path}"/>'
    for place in filter(None, places):
        yield f'<circle class="dot" cx="{place[0]:.1f}" cy="{place[1]:.1f}" r="{4 if step > 10 else 2.5}"/>'
    for at in _told(across):
        yield f'<path class="grid" d="M{across[at]:.1f} {_height(0):.1f}v6"/>'
        anchor = "start" if at == 0 else "end" if at == len(points) - 1 else "middle"
        for y, word in ((PLOT + 32, _cut(points[at].label, 16)), (PLOT + 50, percent(points[at].share))):
            yield f'<text text-anchor="{anchor}" x="{across[at]:.1f}" y="{y}">{word}</text>'


def _told(across: Sequence[float]) -> list[int]:
    """Points whose label and value stand below the plot: the last, the first, and others as far as none touch.

    The words of the first and the last point stand on one side of it, and need more room.
    """
    last = len(across) - 1
    for parts in (4, 3, 2):
        told = sorted({round(last * part / parts) for part in range(parts + 1)})
        gaps = [across[after] - across[at] for at, after in pairwise(told)]
        if len(gaps) > 1 and min(gaps) >= WORDS and min(gaps[0], gaps[-1]) >= 1.5 * WORDS:
            return told
    return sorted({0, last})


def _height(share: float) -> float:
    return 10 + PLOT * (1 - max(0.0, min(share, 1.0)))


def _svg(key: str, title: str, about: str, size: tuple[int, int], drawn: Iterator[str]) -> str:
    head = (
        f'<svg class="chart" viewBox="0 0 {size[0]} {size[1]}" role="img" aria-labelledby="{key}-title {key}-about">'
        f'<title id="{key}-title">{escape(plain(title))}</title><desc id="{key}-about">{escape(plain(about))}</desc>'
    )
    return f"{head}{''.join(drawn)}</svg>"


def _cut(text: str, most: int) -> str:
    safe = plain(text)
    return escape(safe if len(safe) <= most else f"{safe[: most - 1]}…")
