"""Questions that a drafted layout leaves open: where `ask` stands in place of an answer."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from bridge.layout.schema import Fault

ASK = "ask"
_SETTINGS = {
    "rows": "What is one row of the sheet, a visit or an ear?",
    "two_digit_years": "Which years do two digits mean?",
    "dates": "How are dates written?",
    "times": "How are times written?",
    "blank_cells": "Which cells say nothing?",
}
_INNER = {
    "to": "What is this column?",
    "unit": "In which unit are its bare numbers?",
    "scale": "On which scale are its bare sizes?",
    "name": "In which order is the name written?",
    "list": "What stands between several things?",
}


def asked(data: Any) -> Iterator[Fault]:
    """Every open question of a layout, at its place. The layout's own lists of yes and no are words, no questions."""
    if not isinstance(data, dict):
        return
    for name, question in _SETTINGS.items():
        value = data.get(name)
        if value == ASK:
            yield Fault(name, question, ASK)
        elif isinstance(value, list):
            yield from (Fault(f"{name}[{at}]", question, ASK) for at, item in enumerate(value) if item == ASK)
    for pattern, table in _pairs(data.get("words")):
        yield from _words(table, f"words.{pattern}", pattern)
    for heading, said in _pairs(data.get("columns")):
        several = said if isinstance(said, list) else [said]
        for at, one in enumerate(several):
            place = f"columns.{heading}[{at}]" if isinstance(said, list) else f"columns.{heading}"
            yield from _column(one, place, heading)


def _column(said: Any, place: str, heading: str) -> Iterator[Fault]:
    if said == ASK:
        yield Fault(place, f"“{heading[:60]}”: {_INNER['to']}", ASK)
    for name, value in _pairs(said):
        if name == "words":
            yield from _words(value, f"{place}.words", heading)
        elif value == ASK and name in _INNER:
            yield Fault(f"{place}.{name}", f"“{heading[:60]}”: {_INNER[name]}", ASK)


def _words(table: Any, place: str, about: str) -> Iterator[Fault]:
    for word, means in _pairs(table):
        if means == ASK:
            yield Fault(f"{place}.{word}", f"“{about[:60]}”: what does “{word[:60]}” mean?", ASK)


def _pairs(data: Any) -> list[tuple[str, Any]]:
    return list(data.items()) if isinstance(data, dict) else []
