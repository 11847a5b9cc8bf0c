"""What the index page of a hand-over is made of."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal

from bridge.ear_words import Ear
from bridge.render.entries import Entries
from bridge.shapes import Alert, Json
from bridge.visit import Visit


@dataclass(slots=True)
class PictureTold:
    """A picture that the record names; `name` is empty where it is not in the parcel."""

    visit: str
    ear: Ear
    stage: str
    recorded: str
    name: str


@dataclass
class VisitTold:
    """One version of one visit with its document."""

    visit: Visit
    document: Json
    file: str
    letters: list[str] = field(default_factory=list)
    superseded: int | None = None
    alerts: tuple[Alert, ...] = ()

    @cached_property
    def entries(self) -> Entries:
        return Entries(self.document)


@dataclass(frozen=True, slots=True)
class WordTold:
    word: str
    system: str
    version: str
    code: str
    display: str
    times: int


@dataclass(frozen=True, slots=True)
class FileTold:
    name: str
    what: str
    size: int
    sha256: str


@dataclass(slots=True)
class Told:
    """One hand-over, before it is a page."""

    reader: Literal["clinic", "client"]
    made: str
    tool: str
    client: str
    """The client's local number."""
    summary: Json
    visits: list[VisitTold]
    """Oldest first, older versions among them."""
    pictures: list[PictureTold]
    words: list[WordTold]
    files: list[FileTold]
    left: dict[str, int]
    """What of other people was left out, by key of the catalogue."""
    fingerprint: str
    """Of the key that signs, as read out on the telephone; empty for an unsigned hand-over."""
    seal: Literal["", "key", "passphrase"]
    sealed_as: str
    """The name of the sealed file; empty for a plain folder."""
    by: str
    """Who hands over; empty where nobody said so."""

    @property
    def newest(self) -> list[VisitTold]:
        return [v for v in self.visits if v.superseded is None]
