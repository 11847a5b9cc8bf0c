"""Which names a file of a parcel may have: such as every file system keeps, and none leads elsewhere."""

from __future__ import annotations

import re
from collections.abc import Iterable

LONGEST = 200
DEEPEST = 4

_PART = re.compile(r"[A-Za-z0-9_][A-Za-z0-9._-]*\Z")
_RESERVED = re.compile(r"(con|prn|aux|nul|com[0-9]|lpt[0-9])(\.|\Z)", re.IGNORECASE)


def fault_of_name(name: str) -> str:
    """What is wrong with a name, in words that do not repeat it; empty where nothing is."""
    if len(name) > LONGEST:
        return f"longer than {LONGEST} characters"
    if "\\" in name:
        return "with a backslash"
    if name.startswith("/") or re.match(r"[A-Za-z]:", name):
        return "that starts at the root of a disk"
    parts = name.split("/")
    if ".." in parts:
        return "that leads out of the parcel (..)"
    if len(parts) > DEEPEST:
        return f"more than {DEEPEST} folders deep"
    if any(not _PART.match(part) or part.endswith(".") or _RESERVED.match(part) for part in parts):
        return "with characters or words that are not safe on every computer"
    return ""


def clash(names: Iterable[str]) -> str:
    """What is wrong with names taken together: two that are one on some computers, or a file that is also a folder."""
    seen: set[str] = set()
    folders: set[str] = set()
    for name in names:
        small = name.casefold()
        if small in seen:
            return "two files have the same name, capitals aside"
        seen.add(small)
        parts = small.split("/")
        folders.update("/".join(parts[:end]) for end in range(1, len(parts)))
    return "a name is both a file and a folder" if seen & folders else ""
