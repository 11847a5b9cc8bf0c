"""Drawings of the ears and of the hearing tests."""

from __future__ import annotations

from typing import Any

from bridge.render.entries import Entries
from bridge.render.page import Block, Picture, Pictures, Section
from bridge.wording import say


def pictures(entries: Entries) -> list[Section]:
    """One section for the ears and one for hearing, each where there is something to draw."""
    ears, hearing = _made(entries, "drawing", "drawings"), _made(entries, "audiogram", "audiograms")
    found = []
    if ears:
        found.append(Section("drawings", say("drawings.title"), [Pictures(ears)]))
    if hearing:
        charts = [one for one in hearing if isinstance(one, Picture)]
        rest: list[Block] = [one for one in hearing if not isinstance(one, Picture)]
        found.append(Section("hearing", say("hearing.title"), [*([Pictures(charts)] if charts else []), *rest]))
    return found


def _made(entries: Entries, module: str, name: str) -> list[Any]:
    from importlib import import_module

    try:
        made: list[Any] = getattr(import_module(f"bridge.render.{module}"), name)(entries)
    except (ImportError, AttributeError, KeyError):
        return []
    return made
