"""The letters of a record as PDF: as they were or would be sent to doctors, or the client's own in plain words."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.about_document import about
from bridge.check.demands import check_demands
from bridge.check.referral import check_referral
from bridge.due import letters_due
from bridge.handover.record import ClientRecord, Reader, VisitRecord
from bridge.issues import Issue, Severity
from bridge.letters import Wish, letters
from bridge.pipeline import Converter, Kind
from bridge.same_clinic import of_another
from bridge.shapes import Document, Json

WISHES: dict[Reader, Wish] = {
    "clinic": Wish(("pdf",)),
    "client": Wish(("pdf", "html"), reader="client", data=False),
}


def letters_of(
    record: ClientRecord, converter: Converter
) -> Iterator[tuple[VisitRecord, Document | None, list[Issue]]]:
    """Each letter of each visit with its visit; None with why where one cannot be made (D179).

    To doctors only what is due by the consent of the visit, and complete; a letter that lacks something was not sent.
    Another clinic's letters are its own, and come along as it wrote them.
    """
    for visit in record.visits:
        for bundle in _bundles(visit, converter, record.reader):
            for document, found in letters(bundle, about(bundle), visit.stem, WISHES[record.reader]):
                yield visit, document, [i.at(record=visit.visit.number) for i in found]


def _bundles(record: VisitRecord, converter: Converter, reader: Reader) -> Iterator[Json]:
    visit = record.visit
    if reader == "clinic" and of_another(visit.clinic, converter.practice.clinic):
        return
    kind: Kind = "client" if reader == "client" else "document"
    for name in ("client",) if reader == "client" else letters_due(visit):
        lacks = [] if reader == "client" else check_demands(visit, converter.region)
        lacks = [*lacks, *(check_referral(visit) if name == "referral" else ())]
        bundle, found = converter.build(visit, kind, name, record.alerts, record.earlier)
        if not any(i.severity >= Severity.error for i in (*lacks, *found)):
            yield bundle
