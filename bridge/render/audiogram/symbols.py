"""The symbols of the published standards, by region, and their shapes."""

from __future__ import annotations

from functools import cache

from bridge.data import load_csv, table_path
from bridge.ear_words import Ear
from bridge.render.audiogram.facts import Threshold

UK, INTERNATIONAL = "uk", "international"
INK: dict[Ear, str] = {"right": "#a3160f", "left": "#173f8a"}
"""Red and blue as usual; ear and symbol are told by shape and by the chart as well."""

_SHAPES: dict[tuple[str, Ear | None], str] = {
    ("circle", None): "M-4.2 0a4.2 4.2 0 1 0 8.4 0a4.2 4.2 0 1 0-8.4 0z",
    ("cross", None): "M-3.8-3.8l7.6 7.6M-3.8 3.8l7.6-7.6",
    ("triangle", None): "M0-4.6l4.6 8h-9.2z",
    ("square", None): "M-3.9-3.9h7.8v7.8h-7.8z",
    ("angle", "right"): "M-2.6-4.4l-5 4.4 5 4.4",
    ("angle", "left"): "M2.6-4.4l5 4.4-5 4.4",
    ("bracket", "right"): "M-3-4.6h-3.6v9.2h3.6",
    ("bracket", "left"): "M3-4.6h3.6v9.2h-3.6",
}
"""Around the crossing of frequency and level; marks of bone conduction stand beside the line, on their ear's side."""
_ARROWS: dict[Ear, str] = {"right": "M-3.6 3.6l-6 6m0-3.6v3.6h3.6", "left": "M3.6 3.6l6 6m0-3.6v3.6h-3.6"}


@cache
def _table() -> dict[tuple[str, str, bool, str], str]:
    rows = load_csv(table_path("drawing", "audiogram-symbols.csv"))
    return {(r["set"], r["conduction"], r["masked"] == "yes", r["ear"]): r["shape"] for r in rows}


def shape(threshold: Threshold, region: str) -> str:
    """Name of the symbol."""
    known = UK if region == UK else INTERNATIONAL
    return _table()[known, threshold.conduction, threshold.masked, threshold.ear]


def symbol(threshold: Threshold, region: str) -> str:
    """Path data around the origin, with the arrow of no response."""
    name = shape(threshold, region)
    data = _SHAPES.get((name, None)) or _SHAPES[name, threshold.ear]
    return data if threshold.response else data + _ARROWS[threshold.ear]
