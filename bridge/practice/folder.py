"""Loads the practice folder, with all that is wrong in it at once."""

from __future__ import annotations

from pathlib import Path

from bridge.errors import SettingsError
from bridge.issues import Issue, Severity, Where, issue
from bridge.practice.doctors import AddressBook
from bridge.practice.doctors_csv import read_doctors
from bridge.practice.names import quoted
from bridge.practice.practice_yaml import read_settings
from bridge.practice.settings import Practice
from bridge.practice_place import FILE


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
    return practice.with_doctors(book), [*issues, *_unknown_endpoints(practice, book)]


def _unknown_endpoints(practice: Practice, book: AddressBook) -> list[Issue]:
    known = {endpoint.name for endpoint in practice.endpoints}
    where, named = Where("doctors.csv", heading="endpoint"), {row.endpoint for row in book.rows if row.endpoint}
    return [
        issue(
            "D200",
            f"The address book names an endpoint {quoted(name)}, and practice.yaml has none of that name.",
            where,
        )
        for name in sorted(named - known)
    ]


def _content(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise SettingsError(
            f"{path.name} cannot be read: {error.strerror}.", "Close it in other programs and check who may read it."
        ) from None
