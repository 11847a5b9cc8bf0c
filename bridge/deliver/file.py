"""Writes documents whole or not at all, under names that every file system takes."""

from __future__ import annotations

from pathlib import Path

from bridge.errors import BridgeError
from bridge.file_names import safe_stem
from bridge.safe_write import write_bytes
from bridge.shapes import Document


class FileNames:
    """File names for visit numbers: readable, safe, and different for different numbers.

    A number that had to be changed, or that only capitals tell from an earlier one, gets a short digest.
    """

    def __init__(self) -> None:
        self._taken: dict[str, str] = {}

    def stem(self, number: str) -> str:
        stem = safe_stem(number)
        if self._taken.get(stem.lower(), number) != number:
            stem = safe_stem(number, always=True)
        self._taken.setdefault(stem.lower(), number)
        return stem


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
