"""What a cell of one column could say of a visit: texts in the order of preference, to be read back before use."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from bridge.layout.fields import Step
from bridge.layout.model import Layout, Target
from bridge.layout.tables import fold
from bridge.layout.written import written_dates, written_times
from bridge.visit import Term, Visit
from bridge.visit.base import Measure, Size

Texts = list[str]
_SIDES = {"right": ("R", "right"), "left": ("L", "left")}
_MAIN = ("term", "plan", "action", "key", "practice", "name", "reason")
"""Fields that the words of a cell fill in a group of fields, as reading takes them."""


def cell_texts(layout: Layout, target: Target, visit: Visit, ear: str, work: int, nth: int, zone: ZoneInfo) -> Texts:
    """`ear`: of the row, where the field leaves it to the row; `work`: which piece of work a row of an ear is about;
    `nth`: which of several columns of one list, each of which holds one thing."""
    field = target.field
    if field.kind == "side":
        return [*_local(target, ear), ear]
    if field.scope == "ear" and not ear:
        return _both_ears(layout, target, visit, zone)
    steps = moved(target, ear, work)
    if field.path == "requests" and visit.no_request:
        return [*_local(target, "nothing asked"), "nothing asked"]
    value = value_at(visit, steps)
    if value is None or value == ():
        return []
    if field.kind == "when":
        return _when(layout, target, str(value), visit, zone)
    return _joined(target, value, nth)


def moved(target: Target, ear: str, work: int) -> tuple[Step, ...]:
    """The steps from the visit, with the row's ear and its piece of work."""
    field = target.field
    own = field.scope if field.scope in _SIDES else ear if field.scope == "ear" else ""
    steps = tuple((n, i + work if n == "work" and i is not None else i) for n, i in field.steps)
    return ((own, None), *steps) if own else steps


def value_at(value: Any, steps: tuple[Step, ...]) -> Any:
    """The field at a path; None where it, or what it is part of, is not there."""
    for name, index in steps:
        value = getattr(value, name, None)
        if index is not None:
            value = value[index] if isinstance(value, tuple) and index < len(value) else None
        if value is None:
            return None
    return value


def _joined(target: Target, value: Any, nth: int) -> Texts:
    if not isinstance(value, tuple):
        return list(dict.fromkeys(_single(target, value)))
    if not target.separator:
        return list(dict.fromkeys(_single(target, value[nth]))) if nth < len(value) else []
    return _lists(target, [list(_single(target, item)) for item in value])


def _lists(target: Target, items: list[Texts]) -> Texts:
    """The items of a list in one cell; the second text takes the second way of writing each item, where it has one."""
    glue = target.separator if target.separator.isspace() else f"{target.separator} "
    if not items or not all(items):
        return []
    deepest = min(max(map(len, items)), 4)
    return list(dict.fromkeys(glue.join(ways[min(at, len(ways) - 1)] for ways in items) for at in range(deepest)))


def _both_ears(layout: Layout, target: Target, visit: Visit, zone: ZoneInfo) -> Texts:
    """Things of either ear in one cell, each with its side in front."""
    items: list[Texts] = []
    for ear, names in _SIDES.items():
        value = value_at(visit, moved(target, ear, 0))
        things = value if isinstance(value, tuple) else () if value is None else (value,)
        items += [[f"{side} {text}" for side in names for text in _single(target, one)] for one in things]
    return _lists(target, items) if target.separator or len(items) == 1 else []


def _single(target: Target, value: Any) -> Iterator[str]:
    kind = target.field.kind
    if target.name:
        yield from _name(value, target.name)
    elif kind == "percent" and target.unit == "fraction":
        yield f"{Decimal(int(value)) / 100}"
    elif isinstance(value, bool):
        yield from (*_local(target, "yes" if value else "no"), "yes" if value else "no")
    elif isinstance(value, Term):
        yield value.text
    elif isinstance(value, Measure):
        number = f"{value.value:f}"
        yield from ([number] if value.unit == target.unit else [])
        yield f"{number} {value.unit}"
    elif isinstance(value, Size):
        yield f"{value.value:f}{value.scale}" if value.scale == "G" else f"{value.value:f} {value.scale}"
    elif kind == "model":
        yield from _model(target, value)
    else:
        yield from (*_local(target, str(value)), str(value))


def _model(target: Target, value: Any) -> Iterator[str]:
    """A group of fields by the one that its words fill: an answer, findings, items, or the main field."""
    if said := getattr(value, "answer", None) or getattr(value, "achieved", None):
        reason = getattr(value, "reason", None)
        if said != "known":
            plain = [*_local(target, said), said]
            whole = [f"{said} ({reason.text})"] if isinstance(reason, Term) else []
            yield from (*plain, *whole) if type(value).__name__ == "View" else (*whole, *plain)
    elif listed := getattr(value, "findings", None) or getattr(value, "items", None):
        if target.separator or len(listed) == 1:
            yield from _lists(target, [list(_model(target, item)) for item in listed])
    elif type(value).__name__ == "Wax" and value.amount:
        yield value.amount.text
    for name in _MAIN:
        found = getattr(value, name, None)
        words = found.text if isinstance(found, Term) else found
        if not isinstance(words, str):
            continue
        if amount := getattr(value, "amount", None):
            yield from (f"{words} {amount.text}", f"{amount.text} {words}")
        if type(value).__name__ == "Caution" and (ear := value.ear):
            yield from (f"{side} {words}" for side in _SIDES[ear])
        yield words
        return


def _name(value: Any, order: str) -> Iterator[str]:
    if not value.family or not value.given:
        return
    given, prefix = " ".join(value.given), f"{value.prefix} " if value.prefix else ""
    yield f"{value.family}, {prefix}{given}" if order == "family, given" else f"{prefix}{given} {value.family}"


def _local(target: Target, meaning: str) -> Texts:
    """The layout's own words for what a field says; a single letter in the way it is usually written."""
    found = [word for word, meant in target.words.items() if fold(meant) == fold(meaning)]
    return [word.upper() if len(word) == 1 else word for word in found]


def _when(layout: Layout, target: Target, value: str, visit: Visit, zone: ZoneInfo) -> Texts:
    day, _, clock = value.partition("T")
    part = target.field.part
    days = written_dates(day, layout.dates, layout.serial)
    if part == "date":
        return days
    if not clock:
        return [] if part == "time" else days
    times = list(dict.fromkeys((*_clock(clock, day, layout, zone), *_clock(_no_seconds(clock), day, layout, zone))))
    if part == "time":
        same_day = day == visit.start[:10] or any(
            t.field.part == "date" and t.field.steps == target.field.steps for t in layout.targets()
        )
        return times if same_day else []
    return [f"{d} {t}" for d in days[:2] for t in times]


def _clock(clock: str, day: str, layout: Layout, zone: ZoneInfo) -> Texts:
    """The time of day; with its offset where the clinic's zone does not say the same."""
    at = max(clock.find("+"), clock.find("-"), clock.find("Z"))
    bare, offset = clock[:at], clock[at:]
    plain = written_times(bare, layout.times)
    told = [f"{text}{offset}" for text in plain]
    try:
        naive = datetime.fromisoformat(f"{day}T{bare}")
        usual = {naive.replace(tzinfo=zone, fold=fold).isoformat()[-6:] for fold in (0, 1)}
    except (ValueError, OverflowError):
        return told
    return [*plain, *told] if usual == {offset} else told


def _no_seconds(clock: str) -> str:
    return re.sub(r"^(\d\d:\d\d):\d\d(\.\d+)?", r"\1", clock)
