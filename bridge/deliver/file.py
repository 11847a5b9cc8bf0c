"""Writes documents whole or not at all, under names that every file system takes."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

from bridge.errors import BridgeError
from bridge.safe_write import write_bytes
from bridge.shapes import Document

_UNSAFE = re.compile(r"[^A-Za-z0-9._-]+")
_RESERVED = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\.|$)", re.IGNORECASE)
MAX_STEM = 80


class FileNames:
    """File names for visit numbers: readable, safe, and different for different numbers.

    A number that had to be changed, or that only capitals tell from an earlier one, gets a short digest.
    """

    def __init__(self) -> None:
        self._taken: dict[str, str] = {}

    def stem(self, number: str) -> str:
        plain = _UNSAFE.sub("_", number).strip("._")[:MAX_STEM]
        clash = self._taken.get(plain.lower(), number) != number
        if plain != number or _RESERVED.match(plain) or clash or not plain:
            plain = f"{plain or 'visit'}-{hashlib.sha256(number.encode()).hexdigest()[:8]}"
        self._taken.setdefault(plain.lower(), number)
        return plain


def write_document(document: Document, folder: Path) -> Path:
    """Writes into the folder (made where it is missing), readable by its owner only. Raises BridgeError."""
    path = folder / document.name
    try:
        folder.mkdir(parents=True, exist_ok=True)
        write_bytes(path, document.content, private=True)
    except OSError as error:
        raise BridgeError(
            f"{path} cannot be written: {error.strerror or 'unknown reason'}.",
            "Close the file if it is open elsewhere, or choose another folder with --to.",
        ) from None
    return path
