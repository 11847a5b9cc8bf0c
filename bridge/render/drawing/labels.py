"""The few words inside a drawing: on what is hatched, outlined or dotted. Sized to fit, whatever the language."""

from __future__ import annotations

from bridge.render.drawing.sheet import INK, path, text

_SIZE, _SMALL = 4.8, 4.4
_PER_LETTER = 0.56
"""Width of a letter as a share of its size: fonts differ, so this is on the wide side."""


def label(x: float, y: float, words: str, widest: float, *, plate: bool) -> str:
    """Words around a middle, in two lines where one would be too small; `plate`: with white behind them."""
    lines = [words] if _size([words], widest) >= _SMALL else min(_broken(words), key=lambda two: max(map(len, two)))
    size = _size(lines, widest)
    step = size * 1.1
    first = y - step * (len(lines) - 1) / 2 + size * 0.35
    behind = _plate(x, y, max(map(len, lines)) * size * _PER_LETTER, step * len(lines) + 0.4) if plate else ""
    return behind + "".join(text(x, first + step * i, size, line, f'fill="{INK}"') for i, line in enumerate(lines))


def _broken(words: str) -> list[list[str]]:
    """All ways to break the words into two lines, or the one line that cannot be broken."""
    each = words.split()
    return [[" ".join(each[:i]), " ".join(each[i:])] for i in range(1, len(each))] or [[words]]


def _size(lines: list[str], widest: float) -> float:
    return min(_SIZE, widest / (_PER_LETTER * max(map(len, lines))))


def _plate(x: float, y: float, wide: float, high: float) -> str:
    corner = f"M{x - wide / 2 - 0.8:.1f} {y - high / 2:.1f}"
    return path(f"{corner}h{wide + 1.6:.1f}v{high:.1f}h{-wide - 1.6:.1f}z", 'fill="#fff"')
