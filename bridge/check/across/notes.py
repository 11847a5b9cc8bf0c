"""Long notes that stand in more than one visit."""

from __future__ import annotations

from collections.abc import Iterator

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
    waiting: list[tuple[str, object]] = [("", visit)]
    while waiting:
        path, value = waiting.pop()
        if isinstance(value, tuple):
            waiting += [(f"{path}[{n}]", item) for n, item in enumerate(value) if isinstance(item, BaseModel)]
        elif isinstance(value, BaseModel):
            for name in type(value).model_fields:
                inner = getattr(value, name)
                where = f"{path}.{name}" if path else name
                if isinstance(inner, str):
                    if name in _NOTES and len(inner) >= LONG and len(text := fold(inner)) >= LONG:
                        yield where, text
                elif isinstance(inner, BaseModel | tuple) and inner:
                    waiting.append((where, inner))
