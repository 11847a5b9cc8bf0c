"""One visit being put together from cells: its data, its places, and everything wrong with it at once."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from zoneinfo import ZoneInfo

from pydantic import BaseModel

from bridge.issues import Issue, Where, issue
from bridge.layout.fields import Field, Step, core, hints, spell
from bridge.read.fault import CellError, Fault
from bridge.read.moments import Time, moment
from bridge.read.places import Places
from bridge.read.said import Day
from bridge.visit import EarRecord, Visit

Spot = tuple[int, int]
"""Row and column of a cell."""


class Record:
    """Data of one visit in the visit model's own shape, built cell by cell."""

    def __init__(self, make: Callable[[int, int], Where], zone: ZoneInfo) -> None:
        self.data: dict[str, Any] = {}
        self.places = Places(make)
        self.issues: list[Issue] = []
        self.failed: set[str] = set()
        """Paths whose cell was not understood: that they are missing is not said again."""
        self._make = make
        self._gaps = False
        self._zone = zone
        self._moments: dict[tuple[Step, ...], tuple[list[Any], Spot]] = {}
        self._notes: list[tuple[tuple[Step, ...], str, Spot]] = []

    def fault(self, fault: Fault, path: str, spot: Spot, *, missing: bool = True) -> None:
        """Keeps what is wrong with a cell; `missing` where the field stays empty because of it."""
        if missing:
            self.failed.add(path)
        where = self._make(*spot)
        cause = f"{fault.rule}:{'' if fault.anywhere else where.heading or path}:{fault.cause}"
        self.issues.append(issue(fault.rule, fault.message, where, cause=cause).at(path=path))

    def put(self, steps: tuple[Step, ...], value: Any, spot: Spot, *, item: bool = False, path: str = "") -> None:
        """Sets a field, or adds to a list. A second value that says something else is an issue.

        `path`: the steps as they are spelt, where the caller knows.
        """
        if isinstance(value, (Day, Time)):
            self._moments.setdefault(steps, ([], spot))[0].append(value)
            return
        node = self.data
        for name, index in steps[:-1]:
            node = node.setdefault(name, {}) if index is None else self._at(node.setdefault(name, []), index)
        name, index = steps[-1]
        path = path or spell(steps)
        if item:
            path = f"{path}[{_add(node.setdefault(name, []), value)}]"
        elif index is not None:
            items = node.setdefault(name, [])
            self._at(items, index)
            both = isinstance(value, dict) and isinstance(items[index], dict)
            items[index] = {**items[index], **value} if both else value
        elif name == "note" and name in node:
            node[name] = f"{node[name]}\n{value}"
        elif node.get(name, value) != value and not isinstance(value, dict):
            self.fault(Fault("R128", f"Two cells say different things of {path}.", path), path, spot)
        else:
            node[name] = {**node.get(name, {}), **value} if isinstance(value, dict) else value
        self.places.spots.setdefault(path, spot)

    def _at(self, items: list[Any], index: int) -> dict[str, Any]:
        """The entry of a list; those before it that nothing fills are taken out in the end."""
        while len(items) <= index:
            self._gaps |= len(items) < index
            items.append({})
        found: dict[str, Any] = items[index]
        return found

    def note(self, steps: tuple[Step, ...], text: str, spot: Spot) -> None:
        """Words for the note nearest to a field."""
        self._notes.append((steps, text, spot))

    def has(self, steps: tuple[Step, ...]) -> bool:
        node: Any = self.data
        for name, index in steps:
            node = node.get(name) if isinstance(node, dict) else None
            if index is not None:
                node = node[index] if isinstance(node, list) and index < len(node) else None
        return node is not None

    def finish(self) -> None:
        """Joins dates with times, and puts notes where there is room for them."""
        waiting, self._moments = self._moments, {}
        start = next((v.text for v in waiting.get((("start", None),), ([], (0, 0)))[0] if isinstance(v, Day)), "")
        for steps, (values, spot) in waiting.items():
            day = next((v.text for v in values if isinstance(v, Day)), start)
            time = next((v for v in values if isinstance(v, Time)), None)
            try:
                if day:
                    self.put(steps, day if time is None else moment(day, time, self._zone), spot)
            except CellError as error:
                self.fault(error.fault, spell(steps), spot)
        for steps, text, spot in self._notes:
            self.put((*self._room(steps), ("note", None)), text, spot)
        if self._gaps:
            _prune(self.data)

    def _room(self, steps: tuple[Step, ...]) -> tuple[Step, ...]:
        """The nearest thing around a field that has a note and is there already, or may be there with a note alone."""
        for size in range(len(steps), 0, -1):
            model = model_at(steps[:size])
            if model is not None and "note" in model.model_fields and steps[size - 1][1] is not None:
                if self.has(steps[:size]):
                    return steps[:size]
            elif model is not None and "note" in model.model_fields and (_loose(model) or self.has(steps[:size])):
                return steps[:size]
        return ()


def model_at(steps: tuple[Step, ...]) -> type[BaseModel] | None:
    """The model of one thing at a path from the visit; None for plain values and for lists as such."""
    model: type[BaseModel] = Visit
    for name, index in steps:
        inner, many = core(hints(model)[name])
        if not (isinstance(inner, type) and issubclass(inner, BaseModel)) or (many and index is None):
            return None
        model = inner
    return model


def _loose(model: type[BaseModel]) -> bool:
    return model is EarRecord or not any(f.is_required() for f in model.model_fields.values())


def _add(items: list[Any], value: Any) -> int:
    """Adds to a list, completing an entry that another column began (the size before the instrument's name)."""
    if isinstance(value, dict):
        for index, entry in enumerate(items):
            if isinstance(entry, dict) and not entry.keys() & value.keys():
                entry.update(value)
                return index
        value = dict(value)
    items.append(value)
    return len(items) - 1


def _prune(node: Any) -> None:
    """Takes out list entries that nothing was put into."""
    if isinstance(node, dict):
        for value in node.values():
            _prune(value)
    elif isinstance(node, list):
        for value in node:
            _prune(value)
        node[:] = [value for value in node if value != {}]


def full_steps(field: Field, ear: str) -> tuple[Step, ...]:
    """The steps of a field from the visit, with the ear where the field is one of an ear."""
    return ((ear, None), *field.steps) if ear else field.steps
