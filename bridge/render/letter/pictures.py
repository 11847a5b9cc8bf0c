"""Drawings of the ears and of the hearing tests."""

from __future__ import annotations

from bridge.render.audiogram import audiograms
from bridge.render.drawing import drawn
from bridge.render.entries import Entries
from bridge.render.page import Block, Picture, Pictures, Section
from bridge.wording import say


def ear_drawings(entries: Entries) -> list[Block]:
    """What stands under the table of the ears; nothing where there is nothing to draw."""
    found = drawn(entries)
    return [found] if found else []


def hearing(entries: Entries) -> list[Section]:
    """The hearing tests as charts, with their values; none where none is recorded."""
    found = audiograms(entries)
    charts = [one for one in found if isinstance(one, Picture)]
    rest: list[Block] = [one for one in found if not isinstance(one, Picture)]
    blocks: list[Block] = [Pictures(charts)] if charts else []
    return [Section("hearing", say("hearing.title"), [*blocks, *rest])] if found else []
