"""Finds the practice folder and loads it, with all that is wrong in it at once."""

from __future__ import annotations

import os
from pathlib import Path

from bridge.errors import SettingsError
from bridge.issues import Issue, Severity
from bridge.practice.doctors import AddressBook
from bridge.practice.doctors_csv import read_doctors
from bridge.practice.practice_yaml import FILE, read_settings
from bridge.practice.settings import Practice

VARIABLE = "VISIT_BRIDGE_PRACTICE"


def find_practice(explicit: Path | None = None) -> Path:
    """The practice folder: the one named, else the environment's, else upwards from here. Raises SettingsError."""
    if explicit is not None:
        return _named(explicit, "The practice folder that you named")
    if named := os.environ.get(VARIABLE):
        return _named(Path(named), f"The practice folder in the environment variable {VARIABLE}")
    here = Path.cwd()
    for folder in (here, *here.parents):
        if (folder / FILE).is_file():
            return folder
    raise SettingsError(
        f"No practice folder was found: neither {here} nor a folder above it holds {FILE}.",
        "Run `visit-bridge setup` to make one, or name yours with --practice.",
    )


def _named(path: Path, what: str) -> Path:
    folder = path.parent if path.name == FILE else path
    if not (folder / FILE).is_file():
        raise SettingsError(f"{what} holds no {FILE}: {folder}.", "Check the name, or run `visit-bridge setup` there.")
    return folder


def load_practice(folder: Path) -> tuple[Practice | None, list[Issue]]:
    """The practice of a folder and every problem of its files; None where an error stands among them.

    Raises SettingsError where a file cannot be opened at all.
    """
    practice, issues = read_settings(_content(folder / FILE))
    book, more = AddressBook(), list[Issue]()
    path = folder / "doctors.csv"
    if path.exists():
        book, more = read_doctors(_content(path))
    issues += more
    if practice is None or any(i.severity >= Severity.error for i in issues):
        return None, issues
    return practice.with_doctors(book), issues


def _content(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise SettingsError(
            f"{path.name} cannot be read: {error.strerror}.", "Close it in other programs and check who may read it."
        ) from None
