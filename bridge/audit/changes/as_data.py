"""Two editions for programs and spreadsheets."""

from __future__ import annotations

import csv
import io
from typing import Any

from bridge.audit.changes.shapes import GROUPS, Changed, TermChange
from bridge.safe_text import safe_cell

COLUMNS = ("state", "field", "words", "old", "new", "why", "uses", "records", "first places")


def as_data(changed: Changed) -> dict[str, Any]:
    """Everything but the issues, as plain data."""
    return {
        "old": changed.old,
        "new": changed.new,
        "records": changed.records,
        "uses": changed.uses,
        "summary": {name: sum(changed.records[s] for s in states) for name, states in GROUPS.items()},
        "unread": changed.unread,
        "terms": [dict(zip(COLUMNS, _row(term), strict=True)) for term in changed.terms],
        "uses_not_listed": changed.not_listed,
        "first_records": {state: list(numbers) for state, numbers in changed.numbers.items()},
        "sent_again": "nothing",
    }


def as_csv(changed: Changed) -> str:
    """A row for each word that changes, with a mark in front that tells UTF-8; no cell runs as a formula."""
    page = io.StringIO(newline="")
    writer = csv.writer(page)
    writer.writerow(COLUMNS)
    writer.writerows([safe_cell(cell) for cell in _row(term)] for term in changed.terms)
    return f"\ufeff{page.getvalue()}"


def _row(term: TermChange) -> tuple[object, ...]:
    places = "; ".join(map(str, term.places))
    return (term.state, term.field, term.words, term.old, term.new, term.why, term.uses, term.records, places)
