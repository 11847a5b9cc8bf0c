"""Opens a file of records, or says in plain words why it cannot be one."""

from __future__ import annotations

import codecs
import io
import zipfile
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, TextIO

from bridge.errors import InputError

SAVE_AS = "Open it in the spreadsheet program and save the sheet as “CSV UTF-8 (comma delimited)”, then read that file."
_BOMS = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"))
_KNOWN = (
    (b"\xd0\xcf\x11\xe0", "is an old or password-protected spreadsheet or document", SAVE_AS),
    (b"%PDF", "is a PDF", "Records are read from CSV or YAML files."),
    (b"SQLite format 3", "is a database", "Export the table of visits as CSV and read that file."),
    (b"\x1f\x8b", "is a compressed file", "Unpack it first."),
    (b"Rar!", "is a packed archive", "Unpack it first."),
    (b"7z\xbc\xaf", "is a packed archive", "Unpack it first."),
    (b"\x89PNG", "is a picture", "Records are read from CSV or YAML files."),
    (b"\xff\xd8\xff", "is a picture", "Records are read from CSV or YAML files."),
)
_CHUNK = 1 << 20


@dataclass(frozen=True, slots=True)
class Encoding:
    """How a file's bytes become text; `guessed` where nothing but the bytes themselves said so."""

    name: str
    guessed: bool = False


def open_binary(path: Path) -> BinaryIO:
    """The file's bytes. Raises InputError where there is none, or it is no file of text."""
    name = path.name or str(path)
    try:
        if path.is_dir():
            raise InputError(f"{name} is a folder, not a file.", "Name one file of records in it.")
        stream = path.open("rb")
    except FileNotFoundError:
        raise InputError(f"There is no file {name}.", "Check the name and the folder.") from None
    except PermissionError:
        raise InputError(
            f"{name} cannot be opened.", "Close it in other programs, or ask who keeps it for the right to read it."
        ) from None
    except (OSError, ValueError):
        raise InputError(f"{name} cannot be opened.", "Check the name, the folder and the drive.") from None
    try:
        head = stream.read(4096)
        _refuse(name, path, head)
        stream.seek(0)
    except InputError:
        stream.close()
        raise
    except OSError:
        stream.close()
        raise InputError(f"{name} cannot be read.", "Check the drive, and whether another program has it.") from None
    return stream


def _refuse(name: str, path: Path, head: bytes) -> None:
    if not head.strip(b"\x00 \t\r\n\xef\xbb\xbf\xff\xfe"):
        raise InputError(f"{name} is empty.", "Check that the right file was saved.")
    if head.startswith(b"PK\x03\x04"):
        raise InputError(f"{name} {_packed(path)}", SAVE_AS)
    for start, what, advice in _KNOWN:
        if head.startswith(start):
            raise InputError(f"{name} {what}, not a text file of records.", advice)


def _packed(path: Path) -> str:
    try:
        with zipfile.ZipFile(path) as packed:
            names = set(packed.namelist()[:200])
            if any(info.flag_bits & 1 for info in packed.infolist()[:200]):
                return "is a packed file with a password."
    except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError):
        return "is a damaged packed file or spreadsheet."
    if "xl/workbook.xml" in names or "content.xml" in names:
        return "is a spreadsheet; sheets are read from CSV files."
    return "is a packed file or document, not a text file of records."


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
            raise InputError(f"{path.name} is not a text file.", "Records are read from CSV or YAML files.")
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
