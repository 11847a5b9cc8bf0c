"""What became of sending one bundle to one server, kept in a file: written before anything leaves, and again after.

A run that is cut short leaves a receipt that says "in doubt". No client data stands in it: the bundle's own identifier
(kind of letter, number and version of the visit), digests, places on the server, statuses.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any, Literal

from bridge.errors import BridgeError
from bridge.safe_write import write_bytes

Verdict = Literal["accepted", "in part", "refused", "in doubt", "not sent"]
"""accepted: the server has it. in part: some entries of a transaction. refused: it said no. not sent: nothing has
arrived. in doubt: nobody knows yet."""
VERDICTS = ("accepted", "in part", "refused", "in doubt", "not sent")
EDITION = 1
_MOST_BYTES = 5_000_000


@dataclass(slots=True)
class Try:
    """One thing that was tried."""

    at: str
    did: Literal["sent", "asked", "signed in"]
    came: str
    """What came of it, in words of ours."""
    status: int = 0
    """HTTP status; 0 where no answer came."""
    request: str = ""
    """The X-Request-Id that went with it."""


@dataclass(slots=True)
class Receipt:
    """Everything that is kept of it."""

    sha256: str
    """Of the bytes that are sent."""
    document: str
    """`summary/M26-0101/1`: the bundle's identifier, or the id of a transaction."""
    takes: str
    endpoint: str
    address: str
    organisation: str = ""
    verdict: Verdict = "not sent"
    tries: list[Try] = field(default_factory=list)
    place: str = ""
    """Where the server has it: `Bundle/17/_history/1`."""
    etag: str = ""
    entries: list[dict[str, Any]] = field(default_factory=list)
    """Of a transaction: status, place and ETag of each entry."""

    def as_bytes(self) -> bytes:
        told = {"receipt": EDITION, **asdict(self)}
        return (json.dumps(told, ensure_ascii=False, indent=2) + "\n").encode()


def receipt_name(stem: str, endpoint: str) -> str:
    """`M26-0101.brook-lane.receipt.json`."""
    return f"{stem}.{endpoint}.receipt.json"


def read_receipt(path: Path) -> Receipt | None:
    """The receipt of an earlier run; None where there is none. Raises BridgeError where the file is none of ours."""
    try:
        with path.open("rb") as stream:
            content = stream.read(_MOST_BYTES + 1)
    except FileNotFoundError:
        return None
    except OSError as error:
        raise BridgeError(f"{path.name} cannot be read: {error.strerror}.") from None
    try:
        told = json.loads(content)
        if told.pop("receipt") != EDITION or told["verdict"] not in VERDICTS:
            raise ValueError("another edition")
        found = Receipt(**{**told, "tries": [Try(**one) for one in told["tries"]]})
        if not all(isinstance(text, str) for text in (found.sha256, found.document, found.address, found.place)):
            raise ValueError("no texts")
        return found
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
        raise BridgeError(
            f"{path.name} is no receipt that can be understood, so nothing was sent.",
            "Find out what was sent before you move it away.",
        ) from None


def write_receipt(path: Path, receipt: Receipt) -> None:
    """For its owner's eyes. Raises BridgeError."""
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        write_bytes(path, receipt.as_bytes(), private=True)
    except OSError as error:
        raise BridgeError(f"The receipt {path.name} cannot be written: {error.strerror}.") from None
