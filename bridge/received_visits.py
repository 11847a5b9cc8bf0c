"""The corridor from a document that arrived to visit files, each of which says what the document says."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from bridge.about_document import about
from bridge.issues import Issue, Where, issue
from bridge.marked_yaml import load_marked
from bridge.read.ledger import Ledger
from bridge.read.visits_yaml import made_visit
from bridge.receive import bundle_to_visits
from bridge.shapes import Json
from bridge.visit import Visit
from bridge.visit_file import visit_file

NOTES = (
    "Made by visit-bridge from a document that was received. It holds what the document held,",
    "which may be less than the record that the document was made from.",
)


def visit_files(data: Json) -> tuple[list[tuple[Visit, bytes]], list[Issue]]:
    """The visits of a checked document with their files; nothing but the issues where it is not wholly understood.

    X111 where a file, read again, would not give the same visit: then it is not handed out. X112 for the whole record
    of a client.
    """
    if about(data).kind == "ips":
        told = "This is the whole record of a client, which is not taken apart into visits."
        return [], [issue("X112", told, Where(path="Bundle"), cause="X112")]
    visits, issues = bundle_to_visits(data)
    found = []
    for visit in visits:
        content = visit_file(visit, NOTES)
        if _read_again(content) == _without_digest(visit):
            found.append((visit, content))
        else:
            issues.append(
                issue("X111", "This visit cannot be kept in a file.", Where(record=visit.number), cause="X111")
            )
    return found, issues


def _read_again(content: bytes) -> Visit | None:
    plain, places = load_marked(content)
    reading = made_visit("", plain, places, content, Where(), ZoneInfo("UTC"), Ledger())
    return reading.visit and _without_digest(reading.visit)


def _without_digest(visit: Visit) -> Visit:
    return visit.model_copy(update={"source_sha256": None})
