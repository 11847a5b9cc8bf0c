"""One cell as its column's target understands it: values to put into the visit, notes, and what is wrong."""

from __future__ import annotations

import re
from typing import Any

from bridge.layout.model import Layout, Target
from bridge.layout.tables import fold
from bridge.read.day_numbers import from_day_number
from bridge.read.fault import CellError, Fault
from bridge.read.moments import Time, parse_date, parse_moment, parse_time
from bridge.read.said import Cell, Day, Put
from bridge.read.terms import said_in_note, understand
from bridge.read.values import (
    OUT_OF_TEN,
    out_of_ten,
    parse_choice,
    parse_measure,
    parse_name,
    parse_number,
    parse_percent,
    parse_size,
    parse_whole,
    parse_yes_no,
)

MAX_CELL = 20_000
"""Characters of one cell, as many as the longest text of a visit."""


_UNREADABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffd\ud800-\udfff]")


def read_cell(layout: Layout, target: Target, text: str) -> Cell:
    """What a cell that is not blank says. Never raises for what a cell holds."""
    if len(text) > MAX_CELL:
        told = f"The cell holds {len(text):,} characters; {MAX_CELL:,} are the most."
        return Cell(faults=(Fault("R123", told, "long"),))
    if _UNREADABLE.search(text):
        return Cell(faults=(Fault("R124", "The cell holds characters that cannot be read.", "characters"),))
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    try:
        return _read(layout, target, text)
    except CellError as error:
        return Cell(faults=(error.fault,))


def _read(layout: Layout, target: Target, text: str) -> Cell:
    field = target.field
    meant = target.words.get(fold(text), text) if target.words else text
    if field.kind in ("term", "model") and not target.name:
        return understand(layout, target, text)
    if field.kind == "when":
        return _when(layout, target, text)
    if field.many or target.separator:
        parts = [p.strip() for p in meant.split(target.separator)] if target.separator else [meant]
        values = [_single(layout, target, target.words.get(fold(p), p)) for p in parts if p]
        return Cell(tuple(Put(v, item=True) for v in values))
    faults = said_in_note(meant) if field.kind == "words" and field.path.endswith("note") else ()
    return Cell((Put(_single(layout, target, meant)),), faults=faults)


def _single(layout: Layout, target: Target, text: str) -> Any:
    field = target.field
    if target.name:
        return parse_name(text, target.name)
    if field.kind == "words":
        return text
    if field.kind == "choice":
        return parse_choice(text, field.choices, quote=not field.identity)
    if field.kind == "yes-no":
        return parse_yes_no(text, layout.yes, layout.no)
    if field.kind == "percent":
        return parse_percent(text, target.unit)
    if field.kind == "whole":
        value = parse_whole(out_of_ten(text) if field.pattern.rpartition(".")[2] in OUT_OF_TEN else text)
        if field.choices and str(value) not in field.choices:
            raise CellError("R101", f"{value} is not one of: {', '.join(field.choices)}.", str(value))
        return value
    if field.kind == "number":
        return parse_number(text)
    if field.kind == "measure":
        return parse_measure(text, field.pattern, target.unit)
    if field.kind == "size":
        return parse_size(text, target.scale)
    return text


def _when(layout: Layout, target: Target, text: str) -> Cell:
    field = target.field
    text = from_day_number(text, layout.serial) if layout.serial else text
    if field.part == "time":
        return Cell((Put(parse_time(text, layout.times)),))
    whole = field.path in ("start", "end", "recorded_at")
    if field.part == "date":
        return Cell((Put(Day(parse_date(text, layout.dates, layout.two_digit_years, not whole))),))
    day, time = parse_moment(text, layout.dates, layout.times, layout.two_digit_years)
    if whole and len(day) < 10:
        raise CellError("R102", "The day is missing; this date has to be whole.", "whole")
    puts: list[Put] = [Put(Day(day))]
    if isinstance(time, Time):
        puts.append(Put(time))
    return Cell(tuple(puts))
