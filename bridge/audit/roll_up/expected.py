"""The list of clinics that are to send figures."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from dataclasses import dataclass
from io import StringIO

from bridge.audit.figures import Figures
from bridge.issues import Issue, Where, issue

MOST_ROWS = 10_000
MOST_BYTES = 2_000_000


@dataclass(frozen=True, slots=True)
class Expected:
    """One clinic of the list; its key, its name, or both."""

    key: str
    name: str

    def is_of(self, figures: Figures) -> bool:
        """By the key where the list has one; names are compared without case and blanks."""
        return self.key == figures.key if self.key else _folded(self.name) == _folded(figures.name)

    @property
    def called(self) -> str:
        return self.name or self.key


def expected_of(content: bytes, file: str) -> tuple[list[Expected], list[Issue]]:
    """The clinics of a CSV with a column `key` or `name` or both; A268 with the row for what is not understood."""
    try:
        text = content.decode("utf-8-sig") if len(content) <= MOST_BYTES else ""
        rows = list(csv.reader(StringIO(text, newline="")))
    except (UnicodeDecodeError, csv.Error):
        rows = []
    headings = [cell.strip().casefold() for cell in rows[0]] if rows else []
    if not {"key", "name"} & set(headings) or len(rows) > MOST_ROWS:
        return [], [issue("A268", "The list has no column key and none called name, or is no CSV.", Where(file, row=1))]
    found, told = list[Expected](), list[Issue]()
    for number, row in enumerate(rows[1:], 2):
        cells = dict(zip(headings, (cell.strip() for cell in row), strict=False))
        one = Expected(cells.get("key", ""), cells.get("name", ""))
        if one.called:
            found.append(one)
        elif any(cells.values()):
            told.append(issue("A268", "The row has neither a key nor a name.", Where(file, row=number)))
    return found, told


def missing(expected: Iterable[Expected], given: Iterable[Figures]) -> list[Expected]:
    there = list(given)
    return [one for one in expected if not any(one.is_of(figures) for figures in there)]


def _folded(name: str) -> str:
    return " ".join(name.casefold().split())
