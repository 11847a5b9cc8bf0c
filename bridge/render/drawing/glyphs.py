"""The marks, each around its own origin and standing on it: y grows downward, a mark on the roof is turned over.

They differ by shape and pattern, not by colour. Strokes take ink and width from the group around them.
"""

from __future__ import annotations

from bridge.render.drawing.sheet import INK

_WHITE, _BONE, _SOLID = 'fill="#fff"', 'fill="#cbbf9f"', f'fill="{INK}"'


def _p(data: str, more: str = "") -> str:
    return f'<path d="{data}"{" " + more if more else ""}/>'


def _c(x: float, y: float, r: float, more: str = _WHITE) -> str:
    return f'<circle cx="{x:g}" cy="{y:g}" r="{r:g}" {more}/>'


_DROP = "q1.7 2.2 0 3.1q-1.7-.9 0-3.1z"
_RING = _c(0, 0, 2.5)

ON_WALL = {
    "swelling": _p("M-3.4 0q3.4-6 6.8 0z", _WHITE),
    "mounds": _p("M-4.6 0q2.3-7 4.6-.4q2.3-6.6 4.6.4z", _BONE),
    "stalk": _p("M0 0v-2.4") + _c(0, -4, 2, _BONE),
    "polyp": _p("M-1 0q.4-1.6-1-2.8q-.6-2.6 2-2.6t2 2.6q-1.4 1.2-1 2.8z", _WHITE)
    + _p("M-.8-3.2h1.6", 'stroke-width=".4"'),
    "flakes": _p("M-3.4-.6l1.5-1.4 1.5 1.4M-.6-2.6l1.5-1.4 1.5 1.4M.6-.4l1.5-1.4 1.5 1.4"),
    "red": _p(
        "M-3.6-.8q.9-1.7 1.8 0t1.8 0 1.8 0 1.8 0M-3.6-2.8q.9-1.7 1.8 0t1.8 0 1.8 0 1.8 0",
        'stroke="#a61c14" stroke-width=".9"',
    ),
    "cut": _p("M-3-.6L3-2.4M-1.9-2.2l.8 2.2M.1-2.8l.8 2.2"),
    "crater": _p("M-3.4-.4q1.2 0 1.2-1.4M3.4-.4q-1.2 0-1.2-1.4M-2-.2q2 1.2 4 0"),
    "berries": _c(-1.6, -1.3, 1.4) + _c(1.5, -1.3, 1.4) + _c(0, -2.9, 1.4),
    "bone": _p("M-2.4-.2v-3.6h4.8v3.6zM-2.4-.2l4.8-3.6M-2.4-3.8l4.8 3.6", _WHITE),
    "blister": _c(0, -1.8, 1.9, 'fill="#9a9a9a"'),
    "scar": _p("M-3.6-.8l1.2-1.6 1.2 1.6 1.2-1.6 1.2 1.6 1.2-1.6 1.2 1.6"),
    "hair": _p("M-2.6 0q-.4-2.6 1-4.4M-.6 0q-.4-2.8 1-5M1.4 0q-.4-2.6 1-4.4M3 0q-.3-2 .8-3.2", 'stroke-width=".5"'),
    "spores": _p("M-2 0v-2.4M0 0v-3.6M2 0v-2.4", 'stroke-width=".5"')
    + _c(-2, -2.9, 0.8, _SOLID)
    + _c(0, -4.1, 0.8, _SOLID)
    + _c(2, -2.9, 0.8, _SOLID),
}
"""Marks that stand on the wall of the canal, their feet at the origin."""

LOOSE = {
    "spot": _c(0, 0, 1.9) + _c(0, 0, 0.5, _SOLID),
    "narrow": _p("M-2.4-3.4h4.8l-2.4 2.9zM-2.4 3.4h4.8l-2.4-2.9z", _SOLID),
    "bend": _p("M-2.6 2.4q0-3.8 4.6-3.8M.6-3l1.8 1.6L.6.2"),
    "drops": _p(f"M-2.2-2.2{_DROP}M2.2-2.2{_DROP}M0 .2{_DROP}", _WHITE),
    "blood": _p(f"M-1.7-1.8{_DROP}M1.7-1.2{_DROP}", 'fill="#7a120c"'),
    "debris": _p("M-2.8 1l1.1-1.8 1.1 1.8zM.4-.8l1-1.7 1 1.7zM.8 2.2l.9-1.6.9 1.6zM-2.2-1.6l.8-1.3.8 1.3z", _SOLID),
    "object": _p("M0-2.9l2.9 2.9-2.9 2.9-2.9-2.9z", _WHITE) + _p("M-1.4 0h2.8M0-1.4v2.8", 'stroke-width=".9"'),
    "lump": _p("M-2.8 0q.4-2.4 2.8-2.2t2.8 2.2q-.4 2.4-2.8 2.2t-2.8-2.2z", 'fill="#e6bd7b"')
    + _p("M-1.2 0h0M.6-.8h0M.9.9h0", 'stroke-linecap="round"'),
    "hole": _c(0, 0, 2.2, _SOLID),
    "patch": _p("M-2.8 0a2.8 2 0 1 0 5.6 0a2.8 2 0 1 0-5.6 0z", 'fill="#d9d9d9" stroke-width=".5"'),
    "chalk": _p("M-2.8 0a2.8 2 0 1 0 5.6 0a2.8 2 0 1 0-5.6 0z", _WHITE)
    + _p("M-1.6-1.5v3M-.5-1.9v3.8M.6-1.9v3.8M1.7-1.5v3", 'stroke-width=".4"'),
    "inward": _p(
        "M0-3.4v2.2M-1-2l1 1.1 1-1.1M0 3.4v-2.2M-1 2l1-1.1 1 1.1M-3.4 0h2.2"
        "M-2-1l1.1 1-1.1 1M3.4 0h-2.2M2-1l-1.1 1 1.1 1"
    ),
    "outward": _p(
        "M0-.9v2.4M0-.9v-2.2M-1-2.4l1-1.1 1 1.1M-1 2.4l1 1.1 1-1.1M0 .9v2.2"
        "M-3.2 0h6.4M-2.4-1l-1.1 1 1.1 1M2.4-1l1.1 1-1.1 1"
    ),
    "fluid": _p("M-3.6-.4h7.2M-3 1h6M-2 2.4h4"),
    "bubbles": _c(-1.6, 0.6, 1.5) + _c(1.4, -0.9, 1.2) + _c(1.4, 1.9, 0.8),
    "tube": _RING + _c(0, 0, 1.1),
    "t-tube": _RING + _p("M-1.4-1.1h2.8M0-1.1v2.6", 'stroke-width=".9"'),
    "tube-blocked": _RING + _p("M-1.7-1.7l3.4 3.4M-1.7 1.7l3.4-3.4"),
    "tube-leaving": _RING + _c(0, 0, 1) + _p("M2-2l2.4-2.4M2.6-4.6h2v2"),
    "gone": _p("M-3-3l6 6M-3 3l6-6", 'stroke-width="1.2"'),
    "cavity": _p("M-3.2-1.4q0 4 3.2 4t3.2-4", 'stroke-width="1"'),
}
"""Marks that need no wall, around the origin."""

WHOLE = {"red": 1.9, "inward": 2.5, "outward": 2.5, "fluid": 2.4, "bubbles": 2.0, "hole": 3.4, "gone": 2.5}
"""How much larger a mark is that means the whole drum."""
