"""Writes documents whole or not at all, under names that every file system takes, and tells what was there before."""

from __future__ import annotations

from pathlib import Path

from bridge.errors import BridgeError
from bridge.file_names import safe_stem
from bridge.issues import Issue, Where, issue
from bridge.safe_write import make_folder, write_bytes
from bridge.shapes import Document

DRAFT = (b'"status": "preliminary"', b'<status value="preliminary"/>', b'/draft"')
"""How a draft says that it is one, by its Composition or its identifier; drafts are replaced without a word."""
APPROVED = b'"attester"'
"""What lines of resources hold once somebody stands by them: they have neither Composition nor identifier."""


class FileNames:
    """File names for visits: readable, safe, and different for different visits and versions.

    A number that had to be changed, or that only capitals tell from an earlier one, gets a short digest.
    """

    def __init__(self) -> None:
        self._taken: dict[str, tuple[str, int]] = {}

    def stem(self, number: str, version: int = 1) -> str:
        """`2026-014`, and `2026-014-v2` for the second version."""
        wanted = number if version == 1 else f"{number}-v{version}"
        stem = safe_stem(wanted)
        if self._taken.get(stem.lower(), (number, version)) != (number, version):
            stem = safe_stem(wanted, apart=f"{number}/{version}")
        self._taken.setdefault(stem.lower(), (number, version))
        return stem


class Shelf:
    """A folder of documents, one visit after the other."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._names = FileNames()
        self.written = 0

    def stem(self, number: str, version: int = 1) -> str:
        return self._names.stem(number, version)

    def put(self, document: Document) -> list[Issue]:
        """Writes a document; D115 where it takes the place of a finished one that said something else."""
        before = self._before(document.name)
        write_document(document, self.folder)
        self.written += 1
        if before is None or before == document.content or _is_draft(before, document.name):
            return []
        return [issue("D115", f"{document.name} was there and said something else.", Where(), cause="D115")]

    def leave(self, name: str) -> list[Issue]:
        """D116 where a document stands that this run would not write."""
        if self._before(name) is None:
            return []
        return [issue("D116", f"{name} from an earlier run is still in the folder.", Where(), cause="D116")]

    def _before(self, name: str) -> bytes | None:
        try:
            return (self.folder / name).read_bytes()
        except OSError:
            return None


def _is_draft(content: bytes, name: str) -> bool:
    """Whether what stood there may be replaced without a word: a draft, or a page, which its document is told for."""
    if name.endswith(".ndjson"):
        return APPROVED not in content
    return name.endswith(".html") or any(sign in content for sign in DRAFT)


def write_document(document: Document, folder: Path) -> Path:
    """Writes into the folder (made where it is missing), both for their owner only. Raises BridgeError."""
    path = folder / document.name
    try:
        make_folder(folder)
        write_bytes(path, document.content, private=True)
    except OSError as error:
        raise BridgeError(
            f"{path} cannot be written: {error.strerror or 'unknown reason'}.",
            "Close the file if it is open elsewhere, or choose another folder with --to.",
        ) from None
    return path
