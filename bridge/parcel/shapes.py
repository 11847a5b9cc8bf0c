"""What goes into a parcel and what comes out of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from bridge.issues import Issue, Severity

MANIFEST = "manifest.json"
SIGNATURE = "manifest.json.jws"


@dataclass(frozen=True, slots=True)
class Piece:
    """One file of a parcel."""

    name: str
    """Relative path with `/` between, ASCII-safe; `bridge.parcel.names` says which names there may be."""
    media_type: str
    content: bytes = field(repr=False)
    what: str = ""
    """A line for the index, without client data."""


@dataclass(frozen=True, slots=True)
class About:
    """What the manifest says of the parcel as a whole."""

    made: str
    """The day of the hand-over, YYYY-MM-DD; it comes from the caller, never from a clock in here."""
    clinic: str
    client: str
    """The client's local number at that clinic; empty where the parcel is about no single client."""
    purpose: str
    practitioner: str = ""
    to: str = ""
    """Whom it is made for. The signature covers it, so that a parcel passed on to somebody else shows it."""
    tool: str = "visit-bridge"
    version: str = ""
    counts: Mapping[str, int] = field(default_factory=dict)
    """What else was counted (resources, amendments ...); what the names of the files show is counted by itself."""


@dataclass(frozen=True, slots=True)
class Listed:
    """What the manifest says of one file."""

    name: str
    size: int
    sha256: str
    media_type: str
    what: str


@dataclass(frozen=True, slots=True)
class Manifest:
    """A manifest as it was read."""

    about: About
    counts: Mapping[str, int]
    files: tuple[Listed, ...]


@dataclass(frozen=True, slots=True)
class Signer:
    """The key that signed: the signature shows that nothing was changed since, `name` whose key it is."""

    fingerprint: str
    """RFC 7638 thumbprint of the public key (SHA-256, base64url)."""
    alg: str
    public: Mapping[str, str]
    name: str = ""
    """The name under which the practice knows this key; empty where it does not."""


@dataclass(slots=True)
class Opened:
    """A parcel that was opened: with an error among the issues, nothing of it is handed out."""

    pieces: dict[str, Piece] = field(default_factory=dict)
    """The files by name, without the manifest and its signature."""
    manifest: Manifest | None = None
    signer: Signer | None = None
    issues: list[Issue] = field(default_factory=list)

    @property
    def ok(self) -> bool:
        return not any(found.severity >= Severity.error for found in self.issues)
