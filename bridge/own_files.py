"""Files that visit-bridge writes beside records and that are no records themselves, told by name or beginning."""

from __future__ import annotations

import re
import zlib
from pathlib import Path
from zipfile import BadZipFile, ZipFile

ENDINGS = (".receipt.json", ".key.json", ".how-to-open.txt")
_STARTS = (
    b"pattern,title,rule,severity,records,of,",  # findings of an audit
    b"clinic,key,first,last,maps,rate,",  # many clinics' figures
    b"line,type,field,words,stands under,record has,",  # differences between coders
    b"state,field,words,old,new,why,uses,",  # two editions of the maps
    b"rule,severity,kind,message,help,file,",  # a report
    b"local word,field,assertion,system,system version,",  # the words of a hand-over
)
READ_ME = "read-me-first.txt"
_DEIDENTIFIED = b"Pseudonymised is not anonymous."
_FORMATS = (b'"format": "visit-bridge audit figures"', b'"format": "visit-bridge parcel"', b'"signing_key": {')
"""Of figures, of a parcel's list, and of the public halves of keys (`keys show --to`)."""
_TO_FILL = ([b"How", b"Lines", b"Meanings"], [b"Words", b"Meanings"])
"""Worksheets of the books that people fill for us, under whatever name: `audit sample`, `check --words`."""
_WORKSHEET = re.compile(rb'<(?:\w+:)?sheet [^>]*?name="([^"]{0,31})"')
_HEAD = 300


def is_own(path: Path) -> bool:
    """Whether it is a result: a report, figures, a blind sheet, a receipt, public keys, what is in a parcel beside its
    documents."""
    name = path.name.lower()
    if name.endswith(ENDINGS) or (name == READ_ME and is_deidentified(path.parent)):
        return True
    if name.endswith(".xlsx"):
        return path.with_name(f"{path.stem}.key.json").is_file() or _worksheets(path) in _TO_FILL
    if not name.endswith((".csv", ".json", ".txt")):
        return False
    head = _head(path)
    return head.startswith(_STARTS) or any(mark in head for mark in _FORMATS)


def is_deidentified(folder: Path) -> bool:
    """Whether `deidentify` made the folder: its visits are those of the records once more, under other numbers."""
    return _DEIDENTIFIED in _head(folder / READ_ME)


def _worksheets(path: Path) -> list[bytes]:
    """Their names, in order; none where it is no workbook."""
    try:
        with ZipFile(path) as book, book.open("xl/workbook.xml") as listed:
            return _WORKSHEET.findall(listed.read(20_000))
    except (OSError, KeyError, ValueError, NotImplementedError, RuntimeError, BadZipFile, zlib.error):
        return []


def _head(path: Path) -> bytes:
    try:
        with path.open("rb") as stream:
            return stream.read(_HEAD).removeprefix(b"\xef\xbb\xbf")
    except OSError:
        return b""
