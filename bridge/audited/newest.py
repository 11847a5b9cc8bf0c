"""Which visits have a version after their first in the sources of a run: found before anything counts.

Few records are corrections, so of a sheet only their rows are read, and of other sources those that can hold one.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from mmap import ACCESS_READ, mmap
from pathlib import Path

from bridge.audited.bundles import later_visits
from bridge.audited.counted import Counted
from bridge.audited.documents import LATER
from bridge.errors import BridgeError
from bridge.layout import Layout
from bridge.pipeline import Converter
from bridge.read.choose_tables import choose_tables
from bridge.read.kinds import TABLES, what_is
from bridge.read.ledger import Ledger
from bridge.read.visits import read_visits
from bridge.read.visits_table import SheetReader
from bridge.shapes import Reading
from bridge.visit import Visit

_IN_RECORD = re.compile(rb"[\"']?version[\"']?\s*:\s*[\"']?\+?0*" + LATER + rb"\b")
_IN_CELL = re.compile(rf"\D*0*{LATER.decode()}(?!\d)")


def counted_over(sources: Sequence[tuple[Path, bool]], converter: Converter, layout: Layout | None) -> Counted:
    """What counts of the sources of a run: files, each with whether it is a document.

    What cannot be read says so when it is read for good.
    """
    counted = Counted(converter.practice.clinic)
    for source, document in sources:
        try:
            for visit in later_visits(source) if document else _records(source, converter, layout):
                counted.expect(visit)
        except BridgeError:
            continue
    return counted


def _records(source: Path, converter: Converter, layout: Layout | None) -> Iterator[Visit]:
    for reading in _readings(source, converter, layout):
        if reading.visit is not None and not reading.left_alone:
            yield reading.visit


def _readings(source: Path, converter: Converter, layout: Layout | None) -> Iterator[Reading]:
    if what_is(source) in TABLES:
        chosen = converter._knowing(layout or converter.layout(source))
        for table, own in choose_tables(source, chosen or ())[0]:
            yield from _later_rows(SheetReader(table, own, converter.zone, Ledger()))
        return
    with source.open("rb") as file, mmap(file.fileno(), 0, access=ACCESS_READ) as content:
        later = _IN_RECORD.search(content) is not None
    if later:
        yield from read_visits(source, None, converter.zone)


def _later_rows(reader: SheetReader) -> Iterator[Reading]:
    """Those of rows in which a column of versions holds another number than 1."""
    columns = [bound.at for bound in reader.sheet.bound if bound.target.field.path == "version"]
    if columns:
        yield from reader.readings(
            lambda raw: any(_IN_CELL.match(raw.cells[at]) for at in columns if at < len(raw.cells))
        )
