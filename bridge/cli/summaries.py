"""What `convert --as ips` writes: one document for each client, from all visits of the sources named."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bridge.deliver import Shelf
    from bridge.fhir.written import Form
    from bridge.issues import Report
    from bridge.pipeline import Conversion, Converter

NAME = "ips"
"""What is added to the file name: `C-1011.ips.bundle.json`."""


def write_summaries(
    conversions: Iterable[Conversion], converter: Converter, form: Form, shelf: Shelf, report: Report, letters: bool
) -> None:
    """Writes each summary that can be made, and as a page too where `letters` says so; tells of the others why not."""
    from bridge.client_summary import ClientRecords
    from bridge.pipeline import bundle_document, bundle_name, letter_page

    records = ClientRecords(converter.practice, converter.checked)
    for conversion in conversions:
        records.take(conversion)
    report.count("client summaries", 0)
    for summary in records.summaries():
        stem = shelf.stem(summary.stem)
        report.extend(summary.issues)
        if summary.bundle is None:
            left = shelf.leave(bundle_name(stem, NAME, form))
        else:
            left = shelf.put(bundle_document(summary.bundle, stem, NAME, form))
            report.count("client summaries")
            if letters:
                shelf.put(letter_page(summary.bundle, stem, NAME))
        where = summary.where
        report.extend(i.at(file=where.file, sheet=where.sheet, row=where.row, unseen=where.unseen) for i in left)
    report.extend(records.told_of_records())
    report.count("files written", shelf.written)
