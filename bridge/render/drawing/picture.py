"""One picture: the long section, the drum beside it, and below them what has no recorded place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bridge.ear_words import Ear
from bridge.render.drawing import canal, face
from bridge.render.drawing.facts import Look
from bridge.render.drawing.labels import label
from bridge.render.drawing.marking import TRAY, Marked, in_tray, put_marks
from bridge.render.drawing.places import level, spans, stretches
from bridge.render.drawing.sheet import INK, circle, document, num, text
from bridge.render.drawing.tables import wax_heights
from bridge.wording import say

Style = Literal["plain", "described", "hatched", "outlined", "dotted"]
"""plain: looked normal; described: by its marks; hatched: not seen; outlined: not examined; dotted: not recorded."""
_STYLES: dict[str, Style] = {"normal": "plain", "not-seen": "hatched", "not-examined": "outlined"}
_LABELS = {"hatched": "not-seen", "outlined": "not-examined", "dotted": "not-recorded"}
_NEARLY = 0.75
"""Share of the canal from which wax reaches both walls as good as, so that no wall has to be told."""
HEIGHT, WITH_TRAY = 35.8, 46.0


@dataclass(slots=True)
class Styles:
    """How each main part is drawn."""

    wax: Style
    canal: Style
    drum: Style


def styles(look: Look) -> Styles:
    """What is said of a part itself goes before what is said of the whole ear."""
    view = look.states.get("view")
    whole: Style = _STYLES.get(view.answer, "dotted") if view and view.answer != "normal" else "dotted"
    wax: Style = "described" if look.wax else _part(look, "wax", whole)
    drum = _part(look, "drum", "dotted")
    seen = look.states.get("drum-view")
    if drum == "dotted" and seen:
        drum = "hatched" if seen.answer == "not-seen" else "dotted"
    elif drum == "dotted":
        drum = whole
    return Styles(wax, _part(look, "canal", whole), drum)


def _part(look: Look, stem: str, otherwise: Style) -> Style:
    state = look.states.get(stem)
    if state and state.answer != "normal":
        return _STYLES[state.answer]
    if any(f.stem == stem and f.assertion in ("present", "suspected") for f in look.findings):
        return "described"
    if state:
        return _STYLES[state.answer]
    return "described" if any(f.stem == stem for f in look.findings) else otherwise


def draw(look: Look) -> tuple[str, Styles, Marked]:
    """The SVG, how the parts were drawn, and what became of each finding."""
    ear, chosen, marks = look.ear, styles(look), put_marks(look)
    parts = [_canal(ear, chosen.canal)]
    known = chosen.canal in ("plain", "described")
    ring = _ring_wax(look)
    parts += [_inside(look, chosen.wax, marks), _drum_end(ear, chosen.drum), face.dial(ear, known)]
    parts += [ring, _disc(look, chosen.drum), *marks.drawn]
    parts += [_labels(look, chosen), _side(ear), _tray(ear, marks), marks.labels]
    return document(canal.WIDTH, WITH_TRAY if marks.tray else HEIGHT, "".join(parts)), chosen, marks


def _canal(ear: Ear, style: Style) -> str:
    made = canal.walls(ear, "dotted" if style == "dotted" else "filled" if style in ("plain", "described") else "open")
    return made + (canal.hatched_walls(ear) if style == "hatched" else "")


def _inside(look: Look, style: Style, marks: Marked) -> str:
    if style == "hatched":
        return canal.hatching(look.ear)
    if style == "dotted":
        return canal.axis(look.ear)
    return _wax(look, marks) if look.wax else ""


def wax_height(look: Look) -> int | None:
    """Percent of the canal's width: as recorded, else by the word; None where neither says."""
    if look.wax is None:
        return 0
    return look.wax.percent if look.wax.percent is not None else wax_heights().get(look.wax.concept)


def _wax(look: Look, marks: Marked) -> str:
    if look.wax is None or (height := wax_height(look)) == 0:
        return ""
    ear, where = look.ear, look.wax.where
    share = (height if height is not None else 50) / 100
    side = level(ear, where)
    upper, lower = (0.0, share), (1 - share, 1.0)
    levels = {
        "roof": [upper],
        "floor": [lower],
        "both": [(0.0, share / 2), (1 - share / 2, 1.0)] if share < 1 else [(0.0, 1.0)],
        "middle": [((1 - share) / 2, (1 + share) / 2)],
    }[side]
    marks.explained |= {"middle"} if side == "middle" and share < _NEARLY else set()
    edge = "dashed" if height is None else "plain"
    along = stretches(where)
    made = [canal.wax(ear, first, last, levels, edge) for first, last in along]
    if look.wax.percent is None and height is not None:
        marks.explained.add("word")
    if not along:
        marks.explained.add("arrow")
        made = [canal.wax(ear, 0.02, 1, levels, "none"), canal.arrow_along(ear, _beside(levels, share))]
    if where.depth is not None:
        marks.explained.add("depth")
        made.append(canal.mark_depth(ear, min(where.depth / canal.LONG, 0.93)))
    return "".join(made)


def _beside(levels: list[tuple[float, float]], share: float) -> float:
    """The level of the arrow: on the wax, or below it where it is too thin to bear the arrow."""
    if len(levels) > 1 or share >= 0.5:
        return 0.5
    top, bottom = levels[0]
    return (bottom + 1) / 2 if bottom < 1 else top / 2


def _ring_wax(look: Look) -> str:
    if look.wax is None or wax_height(look) == 0:
        return ""
    return "".join(
        face.sector(look.ear, first, last, canal.WAX, canal.WAX_DOT) for first, last in spans(look.ear, look.wax.where)
    )


def _drum_end(ear: Ear, style: Style) -> str:
    return canal.drum_line(ear, style)


def _disc(look: Look, style: Style) -> str:
    partly = style in ("plain", "described") and look.partly is not None
    made = face.disc(look.ear, "partly" if partly else style)
    if style not in ("plain", "described"):
        return made
    present = {f.concept for f in look.findings if f.assertion == "present"}
    if present & {"drum-landmarks-lost", "drum-absent"}:
        return made
    lost = present & {"drum-light-reflex-lost", "drum-light-reflex-distorted"}
    return made + face.landmarks(look.ear, (style == "plain" and not lost) or "drum-light-reflex" in present)


def _labels(look: Look, chosen: Styles) -> str:
    """Words on what is hatched, outlined or dotted."""
    ear, made = look.ear, ""
    if chosen.wax in _LABELS:
        kind = "all" if chosen.wax == chosen.canal else "wax"
        words = say(f"drawing.label.{kind}.{_LABELS[chosen.wax]}")
        made += label(*canal.point(ear, 0.5, 0.5), words, 34, plate=True)
    if chosen.canal in _LABELS and chosen.canal != chosen.wax:
        made += label(canal.across(ear, 35), 33.6, say(f"drawing.label.canal.{_LABELS[chosen.canal]}"), 50, plate=False)
    if chosen.drum in _LABELS:
        words = say(f"drawing.label.all.{_LABELS[chosen.drum]}")
        made += label(*face.hub(ear), words, 17.4, plate=chosen.drum == "hatched")
    return made


def _side(ear: Ear) -> str:
    """The letter of the ear, outside its opening."""
    x = canal.across(ear, 5)
    return circle(x, 17.3, 4.2, f'fill="{INK}"') + text(
        x, 19.3, 5.6, say(f"drawing.letter.{ear}"), 'fill="#fff" font-weight="bold"'
    )


def _tray(ear: Ear, marks: Marked) -> str:
    made = ""
    for tray, used in marks.trays.items():
        left, right = in_tray(ear, tray, 0) - 5, in_tray(ear, tray, used - 1) + 9.5
        shape = f'x="{num(left)}" y="{num(TRAY - 4.6)}" width="{num(right - left)}" height="9.2" rx="2"'
        made += f'<rect {shape} stroke="{INK}" stroke-width=".4" stroke-dasharray=".4 1.2"/>'
    return made
