"""Files that spreadsheet programs put beside a file while it is open in them."""

from __future__ import annotations

from pathlib import Path

from bridge.issues import Issue, Where, issue


def is_lock(name: str) -> bool:
    """Whether a file is such a mark, and no file of records."""
    return name.startswith("~$") or (name.startswith(".~lock.") and name.endswith("#"))


def open_elsewhere(path: Path) -> list[Issue]:
    """R140 where a spreadsheet program has the file open: what was not saved yet is not read."""
    name = path.name
    marks = {f"~${name}", f"~${name[2:]}", f".~lock.{name}#"}
    if not any(path.with_name(mark).exists() for mark in marks):
        return []
    told = "The file is open in a spreadsheet program; what was not saved yet is not read."
    return [issue("R140", told, Where(name))]
