"""The chart of one ear: pitch to the right in octaves, louder downwards, an octave as long as 20 dB.

Source of the proportion: ISO 8253-1 and the ASHA Guidelines for Audiometric Symbols (1990), both from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from math import log2

from bridge.render.audiogram.facts import FREQUENCIES, Threshold
from bridge.render.audiogram.symbols import INK, symbol
from bridge.wording import say

LEFT, TOP, OCTAVE = 26.0, 25.0, 20.0
WIDTH, HEIGHT = LEFT + 6 * OCTAVE + 16, TOP + 130 + 16
_GRID, _AXIS = "#b9b9b9", "#1a1a1a"
_OCTAVES = (125, 250, 500, 1000, 2000, 4000, 8000)


def across(frequency: int) -> float:
    return LEFT + OCTAVE * log2(frequency / 125)


def down(level: float) -> float:
    return TOP + level + 10


@cache
def _grid() -> str:
    left, right, top, bottom = LEFT - 8, LEFT + 6 * OCTAVE + 8, down(-10), down(120)
    levels = "".join(f"M{left:g} {down(level):g}H{right:g}" for level in range(-10, 121, 10))
    octaves = "".join(f"M{across(f):g} {top:g}V{bottom:g}" for f in _OCTAVES)
    between = "".join(f"M{across(f):.1f} {top:g}V{bottom:g}" for f in FREQUENCIES if f not in _OCTAVES and f != 5000)
    return (
        f'<path d="{levels}{octaves}" stroke="{_GRID}" stroke-width=".6"/>'
        f'<path d="{between}" stroke="{_GRID}" stroke-width=".5" stroke-dasharray="1.5 2"/>'
        f'<path d="M{left:g} {down(0):g}H{right:g}" stroke="{_AXIS}" stroke-width=".9"/>'
        f'<path d="M{left:g} {top:g}H{right:g}V{bottom:g}H{left:g}z" stroke="{_AXIS}" stroke-width=".9"/>'
    )


def chart(thresholds: Sequence[Threshold], region: str) -> str:
    """One `<svg>` of the thresholds of one ear."""
    ear = thresholds[0].ear
    pitch = "".join(
        f'<text x="{across(f):g}" y="{TOP - 3:g}">{f if f < 1000 else f"{f // 1000}k"}</text>' for f in _OCTAVES
    )
    levels = "".join(f'<text x="{LEFT - 10:g}" y="{down(d) + 2.6:g}">{d}</text>' for d in range(0, 121, 20))
    side = say(f"audiogram.letter.{ear}")
    marks = "".join(
        f'<path d="{symbol(t, region)}" transform="translate({across(t.frequency):.1f} {down(float(t.level)):g})"/>'
        for t in thresholds
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" font-family="sans-serif" '
        f'fill="none" stroke-linejoin="round"><rect width="{WIDTH:g}" height="{HEIGHT:g}" fill="#fff"/>{_grid()}'
        f'<g fill="{_AXIS}" font-size="7.4" text-anchor="middle">{pitch}'
        f'<text x="{WIDTH - 8:g}" y="8">Hz</text>'
        f'<text x="14" y="8">dB HL</text>'
        f'<text x="{LEFT + 3 * OCTAVE:g}" y="11.5" font-size="11" font-weight="bold">{side}</text></g>'
        f'<g fill="{_AXIS}" font-size="7.4" text-anchor="end">{levels}</g>'
        f'<g stroke="{INK[ear]}" stroke-width="1.4">{_line(thresholds)}{marks}</g></svg>'
    )


def _line(thresholds: Sequence[Threshold]) -> str:
    """Joins what was heard by air; a frequency without response, or with two values, breaks it."""
    air = [t for t in thresholds if t.conduction == "air"]
    data, joined = "", False
    for frequency in sorted({t.frequency for t in air}):
        here = [t for t in air if t.frequency == frequency]
        whole = len({t.level for t in here}) == 1 and here[0].response
        if whole:
            data += f"{'L' if joined else 'M'}{across(frequency):.1f} {down(float(here[0].level)):g}"
        joined = whole
    return f'<path d="{data}" stroke-width=".9"/>' if "L" in data else ""
