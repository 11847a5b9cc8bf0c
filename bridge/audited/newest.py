"""Which visits have a version after their first in the sources of a run: found before anything counts.

Few records are corrections, so a source is read for them only where it can hold one.
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
from bridge.read.sheet import Sheet, open_sheet
from bridge.read.visits import read_visits
from bridge.visit import Visit

_IN_RECORD = re.compile(rb"[\"']?version[\"']?\s*:\s*[\"']?" + LATER + rb"\b")
_IN_CELL = re.compile(rf"\D*{LATER.decode()}(?!\d)")


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
    chosen = converter._knowing(layout or converter.layout(source))
    if _tells_later(source, chosen):
        for reading in read_visits(source, chosen, converter.zone):
            if reading.visit is not None and not reading.left_alone:
                yield reading.visit


def _tells_later(source: Path, layout: Layout | Sequence[Layout] | None) -> bool:
    """Whether a column of versions holds another number than 1, or a visit file names one."""
    if what_is(source) not in TABLES:
        with source.open("rb") as file, mmap(file.fileno(), 0, access=ACCESS_READ) as content:
            return _IN_RECORD.search(content) is not None
    return any(_column_tells(open_sheet(table, own)) for table, own in choose_tables(source, layout or ())[0])


def _column_tells(sheet: Sheet) -> bool:
    columns = [bound.at for bound in sheet.bound if bound.target.field.path == "version"]
    return bool(columns) and any(
        _IN_CELL.match(raw.cells[at]) for raw in sheet.rows() for at in columns if at < len(raw.cells)
    )
