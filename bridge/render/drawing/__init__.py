"""Drawings of the ears as they were seen, from the coded facts of a document alone.

Each picture is one ear at one stage: the canal in a long section, and the drum as a clock face. A stage of which
something is recorded has both ears, so that silence about one of them is seen.
"""

from __future__ import annotations

from bridge.ear_words import EARS, STAGES
from bridge.render.drawing.facts import Look, looks
from bridge.render.drawing.marking import Marked
from bridge.render.drawing.picture import draw
from bridge.render.drawing.words import alternative, legend
from bridge.render.entries import Entries
from bridge.render.page import Picture, Pictures
from bridge.wording import say

__all__ = ["drawings", "drawn"]

_EXPLAINED = ("box", "arrow", "word", "middle", "depth", "doubt")


def drawings(entries: Entries) -> list[Picture]:
    """Right ear and left ear before the work, then both after it; nothing where no examination is recorded."""
    found = drawn(entries)
    return found.pictures if found else []


def drawn(entries: Entries) -> Pictures | None:
    """The drawings with a caption that says how to read them, as far as these need it; None where there are none."""
    found = looks(entries.resources)
    made = []
    for stage in STAGES:
        pair = [found[stage, ear] for ear in EARS]
        if not all(look.bare for look in pair):
            made += [_picture(look) for look in pair]
    if not made:
        return None
    needed = set().union(*(marks.explained for _, marks in made))
    caption = [say("drawing.caption"), *(say(f"drawing.caption.{key}") for key in _EXPLAINED if key in needed)]
    return Pictures([picture for picture, _ in made], " ".join(caption))


def _picture(look: Look) -> tuple[Picture, Marked]:
    svg, styles, marks = draw(look)
    title = say(f"drawing.title.{look.ear}.{look.stage}")
    spoken = alternative(title, legend(look, styles, marks, whole=True))
    return Picture(svg, spoken, title, legend(look, styles, marks), look.ear), marks
