"""The folder for what came along with the visits of a parcel, and the list in it of the visits that it belongs to.

A client's number alone does not say whose it is: two clinics give one number to two people, and a visit may be filed
under another number than it came with.
"""

from __future__ import annotations

import json
import os
import stat
from collections.abc import Iterable
from pathlib import Path

from bridge.file_names import safe_stem

PREFIX = "came-with-"
LIST = "visits.json"
READING = sum(getattr(os, flag, 0) for flag in ("O_RDONLY", "O_BINARY", "O_NOFOLLOW", "O_NONBLOCK"))
"""No link at the end of a path is followed, and no pipe waited for."""
_MOST_BYTES = 1024 * 1024


def folder_name(number: str, clinic: str) -> str:
    """For the client with this number at the clinic that sent them."""
    return f"{PREFIX}{safe_stem(number)}-from-{safe_stem(clinic)}" if clinic else f"{PREFIX}{safe_stem(number)}"


def visit_list(numbers: Iterable[str]) -> bytes:
    """The list, of visit numbers as they were filed."""
    return (json.dumps({"visits": sorted(set(numbers))}, ensure_ascii=False, indent=1) + "\n").encode()


def belongs(folder: Path, numbers: Iterable[str]) -> bool | None:
    """Whether what is in the folder came with one of these visits; None where its list does not say."""
    try:
        with open(os.open(folder / LIST, READING), "rb") as stream:
            if not stat.S_ISREG(os.fstat(stream.fileno()).st_mode):
                return None
            listed = json.loads(stream.read(_MOST_BYTES)).get("visits")
    except (OSError, ValueError, RecursionError, AttributeError):
        return None
    if not isinstance(listed, list) or not listed:
        return None
    mine = {number.casefold() for number in numbers}
    return any(isinstance(number, str) and number.casefold() in mine for number in listed)


def folders_in(folder: Path) -> list[Path]:
    """All such folders beside visit files; links are none."""
    try:
        return sorted(p for p in folder.iterdir() if p.name.startswith(PREFIX) and p.is_dir() and not p.is_symlink())
    except OSError:
        return []
