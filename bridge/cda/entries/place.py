"""What a place is: the two ways of one element between a resource and its act."""

from __future__ import annotations

from typing import Any, NamedTuple, Protocol

from bridge.cda.context import Context
from bridge.cda.entries.act import Act
from bridge.cda.entries.claims import Claim
from bridge.cda.entries.paths import look
from bridge.cda.entries.seen import Seen
from bridge.cda.entries.tables import Row
from bridge.shapes import Json

MAX_DEPTH = 6
"""Of acts within acts that stand for inner structures."""


class Told(NamedTuple):
    """What is being written: a resource or an inner structure, what it claims, and the document around it."""

    resource: Json
    claim: Claim
    words: str
    """The narrative in plain words, of an inner structure that of the resource; empty where there is none."""
    context: Context

    def at(self, row: Row) -> Any:
        return look(self.resource, row.path)


class Place(Protocol):
    def write(self, act: Act, row: Row, told: Told) -> None:
        """Adds to the act what the resource has there; nothing for what does not fit."""

    def read(self, seen: Seen, row: Row, context: Context) -> Any:
        """What the act has there, shaped as the element; None for nothing."""


def shaped(row: Row, found: list[Any]) -> Any:
    """What was read, as a list where the element is one."""
    found = [item for item in found if item is not None]
    if not found:
        return None
    return found if row.element is not None and row.element.many else found[0]
