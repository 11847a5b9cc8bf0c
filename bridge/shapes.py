"""The small shapes that cross the doors between rooms."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from bridge.issues import Issue, Where

if TYPE_CHECKING:
    from bridge.ear_words import Ear
    from bridge.visit import Visit

Json = dict[str, Any]
"""A FHIR resource or a part of one, as plain data spelt as the standard spells it."""


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a source: its cells by heading, and where it stands."""

    where: Where
    cells: Mapping[str, str]
    columns: Mapping[str, int] = field(default_factory=dict)
    """Heading to column number, from 1."""


@dataclass(frozen=True, slots=True)
class Document:
    """Something finished to hand out."""

    name: str
    media_type: str
    content: bytes


@dataclass(frozen=True, slots=True)
class Alert:
    """A red flag that a record shows and that no referral answers."""

    rule: str
    """The code of the clinical rule."""
    flag: str
    """`RF01` and the like: what referrals and the practice's own words call it by."""
    ear: Ear | None
    urgency: str
    """How soon the source asks for the client to be seen: `immediate`, `urgent`, `routine`."""
    words: str
    """What the record shows, as a sentence."""
    source: str
    """The publication behind it with its section, as a receiver would look it up."""
    to: tuple[str, ...] = ()
    """The kinds of service that the source names for it, in words."""
    path: str = ""
    """The field that shows it."""
    answered: str = ""
    """Why nobody was asked to see the client, by the record; empty where it does not say."""
    slower: bool = False
    """Whether there is a referral of that ear, and it is slower than the source asks for."""


@dataclass(slots=True)
class Reading:
    """One record as read: the visit (None where it cannot be one), its issues and its places."""

    visit: Visit | None
    issues: list[Issue]
    places: Mapping[str, Where] = field(default_factory=dict)
    """Field path to the cell or line it came from."""
    where: Where = Where()
    """Where the record starts."""
    left_alone: str = ""
    """Why the record was not read on purpose (older than the start date, blank); empty otherwise."""
    empty: Callable[[str], Where | None] = lambda path: None
    """The empty cell that could have filled a field, where the source has one."""
    says: Mapping[str, Any] = field(default_factory=dict)
    """Of a record that is no visit: its number, version and client, as far as they were read."""

    def where_of(self, path: str) -> Where:
        """The cell or line nearest to a field: its own, the empty one that could have filled it, that of what it is
        part of, or of a part of it."""
        if path not in self.places and (cell := self.empty(path)):
            return replace(cell, path=path)
        at = path
        while at:
            if at in self.places:
                return replace(self.places[at], path=path)
            at = at[: max(at.rfind("."), at.rfind("["), 0)]
        inside = next((p for p in self.places if p.startswith((f"{path}.", f"{path}["))), None)
        return replace(self.places[inside] if inside else self.where, path=path)
