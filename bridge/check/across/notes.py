"""Long notes that stand in more than one visit."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Any, get_args

from pydantic import BaseModel

from bridge.check.across.identity import Who
from bridge.hash_table import HashTable, short_hash
from bridge.issues import Issue, Where, issue
from bridge.phrases.fold import fold
from bridge.visit import Visit

LONG = 80
"""Folded characters from which a note is nothing that is said in the same words again by chance."""
_NOTES = frozenset({"note", "why", "done"})


class Notes:
    """Remembers each long note by client and by itself."""

    def __init__(self) -> None:
        self._places = HashTable()
        self._visits = HashTable()

    def enter(self, visit: Visit, same: Who, at: int) -> Iterator[Issue]:
        """C580 where the client has the note in another visit; else C581 where anybody has."""
        seen: set[int] = set()
        for path, text in _long_notes(visit):
            note = short_hash(text)
            if note in seen:
                continue
            seen.add(note)
            own = self._before(same.key("note", text), same, at)
            any_one = self._before(note, same, at)
            where = Where(path=path)
            if own is not None:
                message = f"This note says word for word what a note in {same.told(own)} says of the same client."
                yield issue("C580", message, where, cause=f"C580:{note:x}")
            elif any_one is not None:
                message = f"This note says word for word what a note in {same.told(any_one)} says of another client."
                yield issue("C581", message, where, cause=f"C581:{note:x}")

    def _before(self, key: int, same: Who, at: int) -> int | None:
        """The place where another visit has it; remembers this one where none had."""
        first = self._visits.setdefault(key, same.visit)
        place = self._places.setdefault(key, at)
        return place if first != same.visit else None


def _long_notes(visit: Visit) -> Iterator[tuple[str, str]]:
    """Path and folded text of each note of running text that is long."""
    waiting: list[tuple[str, BaseModel]] = [("", visit)]
    while waiting:
        path, value = waiting.pop()
        notes, inner = _fields(type(value))
        held = value.__dict__
        for name in notes:
            text = held[name]
            if text is not None and len(text) >= LONG and len(text := fold(text)) >= LONG:
                yield f"{path}{name}", text
        for name in inner:
            found = held[name]
            if isinstance(found, tuple):
                waiting += [(f"{path}{name}[{n}].", item) for n, item in enumerate(found)]
            elif found is not None:
                waiting.append((f"{path}{name}.", found))


@cache
def _fields(model: type[BaseModel]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The notes of a model, and its fields in which notes can be."""
    notes, inner = [], []
    for name, field in model.model_fields.items():
        parts = [part for part in _parts(field.annotation) if isinstance(part, type)]
        if name in _NOTES and str in parts:
            notes.append(name)
        elif any(issubclass(part, BaseModel) and any(_fields(part)) for part in parts):
            inner.append(name)
    return tuple(notes), tuple(inner)


def _parts(annotation: Any) -> Iterator[Any]:
    """The types that an annotation is put together of."""
    inner = get_args(annotation)
    if not inner:
        yield annotation
    for part in inner:
        yield from _parts(part)
