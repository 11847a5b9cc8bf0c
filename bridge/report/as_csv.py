"""A report as CSV, one row per issue, safe to open in a spreadsheet."""

from __future__ import annotations

import csv
from typing import TextIO

from bridge.issues import Issue, Report
from bridge.safe_text import safe_cell

HEADINGS = (
    "rule", "severity", "kind", "message", "help",
    "file", "sheet", "row", "column", "heading", "path", "record", "cause",
)  # fmt: skip


def write_report(report: Report, stream: TextIO) -> None:
    """A heading line, then the issues in the order met."""
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(HEADINGS)
    writer.writerows([safe_cell(cell) for cell in _cells(found)] for found in report.issues)


def _cells(found: Issue) -> tuple[object, ...]:
    where = found.where
    return (
        found.rule, found.severity.name, found.kind, found.message, found.help,
        where.file, where.sheet, where.row, where.column, where.heading, where.path, where.record, found.cause,
    )  # fmt: skip
