"""Opens a file of records, or says in plain words why it cannot be one."""

from __future__ import annotations

import codecs
import io
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, TextIO

from bridge.errors import InputError

READABLE = "Records are read from CSV, Excel (.xlsx), SQLite, JSON and YAML files, documents from FHIR, CDA and PDF."
_BOMS = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"))
_CHUNK = 1 << 20


@dataclass(frozen=True, slots=True)
class Encoding:
    """How a file's bytes become text; `guessed` where nothing but the bytes themselves said so."""

    name: str
    guessed: bool = False


def open_binary(path: Path) -> BinaryIO:
    """The file's bytes. Raises InputError where there is none."""
    name = path.name or str(path)
    try:
        if path.is_dir():
            raise InputError(f"{name} is a folder, not a file.", "Name one file of records in it.")
        if path.exists() and not path.is_file():
            raise InputError(f"{name} is no file that can be read twice.", "Send it to standard input (a lone dash).")
        return path.open("rb")
    except FileNotFoundError:
        raise InputError(f"There is no file {name}.", "Check the name and the folder.") from None
    except PermissionError:
        raise InputError(
            f"{name} cannot be opened.", "Close it in other programs, or ask who keeps it for the right to read it."
        ) from None
    except (OSError, ValueError):
        raise InputError(f"{name} cannot be opened.", "Check the name, the folder and the drive.") from None


def read_head(path: Path, size: int) -> bytes:
    """The first bytes of a file. Raises InputError where it cannot be read."""
    with open_binary(path) as stream:
        try:
            return stream.read(size)
        except OSError:
            told = f"{path.name} cannot be read."
            raise InputError(told, "Check the drive, and whether another program has it.") from None


def find_encoding(path: Path, wanted: str = "auto") -> Encoding:
    """The encoding to read with. A byte order mark wins; then UTF-16 by its NULs, UTF-8 if all of it is, or cp1252."""
    with open_binary(path) as stream:
        head = stream.read(4096)
        for bom, name in _BOMS:
            if head.startswith(bom):
                return Encoding(name)
        if wanted == "utf-16":
            return Encoding(_half_nul(head) or "utf-16-le")
        if wanted != "auto":
            return Encoding(wanted)
        if half := _half_nul(head):
            return Encoding(half, True)
        if head.count(0) > len(head) // 10:
            raise InputError(f"{path.name} is not a text file.", READABLE)
        stream.seek(0)
        return Encoding("utf-8") if _is_utf8(stream) else Encoding("cp1252", True)


def _half_nul(head: bytes) -> str:
    """UTF-16 without a mark: every other byte is NUL in western text."""
    size = len(head) // 2
    if size >= 8 and head[1::2].count(0) > size * 0.7 and head[::2].count(0) == 0:
        return "utf-16-le"
    if size >= 8 and head[::2].count(0) > size * 0.7 and head[1::2].count(0) == 0:
        return "utf-16-be"
    return ""


def _is_utf8(stream: BinaryIO) -> bool:
    decoder = codecs.getincrementaldecoder("utf-8")()
    try:
        while chunk := stream.read(_CHUNK):
            decoder.decode(chunk)
        decoder.decode(b"", final=True)
    except UnicodeDecodeError:
        return False
    return True


def open_text(path: Path, encoding: Encoding) -> TextIO:
    """The file as text, line ends as they are. A byte that is no text becomes U+FFFD, to be found in its cell."""
    return io.TextIOWrapper(open_binary(path), encoding=encoding.name, errors="replace", newline="")
