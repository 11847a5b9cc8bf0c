"""What two editions make of the same records."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from bridge.issues import Issue, Where

State = Literal["same", "finer", "coded now", "less specific", "no longer coded", "different", "was wrong"]
STATES: tuple[State, ...] = (
    "same", "coded now", "finer", "less specific", "no longer coded", "different", "was wrong",
)  # fmt: skip
"""From what asks for nothing to what asks for a look; a record is what the last of its words is."""
RULES: dict[State, str] = {
    "coded now": "A230",
    "finer": "A231",
    "less specific": "A232",
    "no longer coded": "A233",
    "different": "A234",
    "was wrong": "A235",
}
GROUPS: dict[str, tuple[State, ...]] = {
    "the same": ("same",),
    "finer": ("coded now", "finer"),
    "different": ("less specific", "no longer coded", "different"),
    "were wrong": ("was wrong",),
}
"""The four answers that a lead asks for."""


@dataclass(frozen=True, slots=True)
class TermChange:
    """Words of one kind of field that two editions do not read alike."""

    kind: str
    field: str
    words: str
    """As they were first met; empty where they may tell who somebody is."""
    old: str
    new: str
    """What they mean, with the codes it goes out under."""
    state: State
    why: str
    uses: int
    records: int
    places: tuple[Where, ...]
    """The first few."""


@dataclass(slots=True)
class Changed:
    old: str
    new: str
    """Names of the editions."""
    records: dict[State, int] = field(default_factory=dict)
    uses: dict[State, int] = field(default_factory=dict)
    terms: tuple[TermChange, ...] = ()
    """What asks for a look first, then the most frequent."""
    not_listed: int = 0
    """Words beyond those that are listed one by one; they are counted all the same."""
    unread: int = 0
    """Records that could not be read as a visit, and so are in no count."""
    numbers: dict[State, tuple[str, ...]] = field(default_factory=dict)
    """The first records of each state but `same`, by their numbers."""
    issues: list[Issue] = field(default_factory=list)
