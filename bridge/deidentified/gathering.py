"""The visits of records in any layout and of documents of anybody, completed and coded."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from bridge.errors import BridgeError
from bridge.fhir.files import read_file
from bridge.issues import Issue, issue
from bridge.layout import Layout
from bridge.pipeline import Converter
from bridge.read.find import unread
from bridge.received import check_received, is_received
from bridge.taken_over import arrived
from bridge.visit import Visit


@dataclass(slots=True)
class Gathered:
    """The visits of the sources, read and coded."""

    visits: list[Visit] = field(default_factory=list)
    issues: list[Issue] = field(default_factory=list)
    unread: int = 0
    """Records and documents of which no visit could be made."""
    kept: int = 0
    """Resources of documents that have no place in a visit."""


def gathered(sources: Sequence[Path], converter: Converter, layout: Layout | None = None) -> Gathered:
    """Visits of files: of records in any layout, and of documents of anybody. D245: what of these is in no visit.

    Raises InputError where a single source cannot be read.
    """
    result = Gathered()
    for source in sources:
        try:
            result.visits += _of(source, converter, layout, result)
        except BridgeError as error:
            if len(sources) == 1:
                raise
            result.issues.append(unread(source, error))
    result.issues += converter.told_of_sources()
    if result.kept:
        told = f"{result.kept} resources of documents have no place in a visit, and were left out."
        result.issues.append(issue("D245", told, cause="D245"))
    return result


def _of(source: Path, converter: Converter, layout: Layout | None, result: Gathered) -> Iterator[Visit]:
    if is_received(source):
        data, issues = check_received(read_file(source), source.name)
        document = arrived(data, source.name, issues)
        if not document.visits:
            result.unread += 1
        result.kept += sum(len(bundle.get("entry", ())) for _, bundle in document.kept)
        yield from document.visits
        return
    for reading in converter.readings(source, layout):
        if reading.left_alone:
            continue
        if reading.visit is None:
            result.unread += 1
            result.issues += reading.issues
            continue
        yield converter.prepare(reading.visit)[0]
