"""What a cell says, before it has a place in the visit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

from bridge.ear_words import Ear
from bridge.layout.fields import Step
from bridge.read.fault import Fault


class Put(NamedTuple):
    """A value for the target's field, or for a field inside it (`inner`). `ears` where the cell itself names them."""

    value: Any
    inner: tuple[Step, ...] = ()
    item: bool = False
    """One of a list."""
    ears: tuple[Ear, ...] = ()
    other: str = ""
    """A field of the visit that is meant instead of the target's."""
    beside: str = ""
    """A field beside the target's that is meant instead: the drum, of words in the column of the canal."""


class Note(NamedTuple):
    """Words that are more than a phrase: they go to the note nearest to the field."""

    text: str
    ears: tuple[Ear, ...] = ()


class Cell(NamedTuple):
    puts: tuple[Put, ...] = ()
    notes: tuple[Note, ...] = ()
    faults: tuple[Fault, ...] = ()


@dataclass(frozen=True, slots=True)
class Day:
    """A date that waits for its time."""

    text: str
