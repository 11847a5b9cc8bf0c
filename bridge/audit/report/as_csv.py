"""The findings of an audit as CSV, one row for each place, safe to open in a spreadsheet."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from io import StringIO

from bridge.audit.report.chosen import worst_patterns
from bridge.audit.shapes import Audited
from bridge.issues import Issue, Where
from bridge.safe_text import safe_cell

HEADINGS = (
    "pattern", "title", "rule", "severity", "records", "of", "message", "do",
    "record", "file", "sheet", "row", "column", "heading", "path",
)  # fmt: skip


def to_csv(audited: Audited) -> str:
    """The severest pattern first; then what is nearly the same words, then what concerns the sources as a whole."""
    page = StringIO()
    writer = csv.writer(page, lineterminator="\n")
    writer.writerow(HEADINGS)
    writer.writerows([safe_cell(cell) for cell in row] for row in _rows(audited))
    return page.getvalue()


def _rows(audited: Audited) -> Iterator[tuple[object, ...]]:
    for found in worst_patterns(audited):
        for evidence in found.evidence:
            head = (
                found.pattern,
                found.title,
                evidence.rule,
                evidence.severity.name,
                found.records.count,
                found.records.of,
            )
            yield (*head, *_told(evidence, found.do))
    for suggestion in audited.suggestions:
        for word, count in suggestion.words:
            told = f"{word} ({count}): {suggestion.why}"
            yield (
                "",
                "Nearly the same words",
                "",
                "information",
                "",
                "",
                told,
                "",
                *_place(Where(path=suggestion.kind)),
            )
    for one in audited.issues:
        yield ("", "", one.rule, one.severity.name, "", "", *_told(one, one.help))


def _told(found: Issue, do: str) -> tuple[object, ...]:
    return (found.message, do or found.help, *_place(found.where))


def _place(where: Where) -> tuple[object, ...]:
    return (where.record, where.file, where.sheet, where.row, where.column, where.heading, where.path)
