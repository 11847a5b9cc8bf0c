"""Drawings of the ears and of the hearing tests."""

from __future__ import annotations

from typing import Any

from bridge.render.entries import Entries
from bridge.render.page import Block, Picture, Pictures, Section
from bridge.wording import say


def ear_drawings(entries: Entries) -> list[Block]:
    """What stands under the table of the ears; nothing where there is nothing to draw."""
    drawn = _made(entries, "drawing", "drawings")
    return [Pictures(drawn)] if drawn else []


def hearing(entries: Entries) -> list[Section]:
    """The hearing tests as charts, with their values; none where none is recorded."""
    found = _made(entries, "audiogram", "audiograms")
    charts = [one for one in found if isinstance(one, Picture)]
    rest: list[Block] = [one for one in found if not isinstance(one, Picture)]
    blocks: list[Block] = [Pictures(charts)] if charts else []
    return [Section("hearing", say("hearing.title"), [*blocks, *rest])] if found else []


def _made(entries: Entries, module: str, name: str) -> list[Any]:
    from importlib import import_module

    try:
        made: list[Any] = getattr(import_module(f"bridge.render.{module}"), name)(entries)
    except (ImportError, AttributeError, KeyError):
        return []
    return made
