"""Reads visits from the records as a practice keeps them.

Every visit comes with all that is wrong with it and the cell or line of each field. An error in one visit never stops
the next; only a file that cannot be opened or understood at all raises InputError.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from zoneinfo import ZoneInfo

from bridge.errors import InputError
from bridge.layout import Layout
from bridge.read.headings import heading
from bridge.read.ledger import Ledger
from bridge.read.sheet import known_headings
from bridge.read.source import SAVE_AS
from bridge.read.table import Raw, Table, open_tables
from bridge.shapes import Reading

__all__ = ["Ledger", "Raw", "Table", "heading", "is_sheet", "open_tables", "read_headings", "read_visits"]

_YAML = (".yaml", ".yml")
_WORKBOOKS = (".xlsx", ".xlsm", ".xls", ".ods", ".numbers")


def is_sheet(source: Path) -> bool:
    """Whether a file is read through a layout; YAML visit files need none."""
    return source.suffix.lower() not in _YAML


def read_headings(path: Path) -> list[str]:
    """The headings of a file's first sheet, for choosing its layout. Raises InputError for files that are none."""
    return heading(open_tables(path)[0])[0]


def read_visits(source: Path, layout: Layout | None, zone: ZoneInfo, ledger: Ledger | None = None) -> Iterator[Reading]:
    """Visits of a CSV sheet (with its layout) or of a YAML file of visits, in the order of the file.

    `zone` is the practice's; times without an offset are in it. Give one `ledger` to several files, so that a visit
    number or a client met in one is known in the next. Readings without a visit are either `left_alone` on purpose or
    carry the issues for which they are none. Raises InputError where the file cannot be read at all, and for a sheet
    without a layout.
    """
    from bridge.read.source import open_binary
    from bridge.read.visits_table import SheetReader
    from bridge.read.visits_yaml import read_yaml_visits

    ledger = ledger if ledger is not None else Ledger()
    open_binary(source).close()
    if source.suffix.lower() in _WORKBOOKS:
        raise InputError(f"{source.name} is named like a spreadsheet file; sheets are read from CSV files.", SAVE_AS)
    if not is_sheet(source):
        yield from read_yaml_visits(source, zone, ledger)
        return
    if layout is None:
        raise InputError(
            f"{source.name} is a sheet, and no layout says which column is which.",
            "Put a layout into the folder `layouts` of your practice folder (copy a shipped one and change its"
            " headings), or name one with --layout.",
        )
    known = known_headings(layout)
    for table in open_tables(source, encoding=layout.encoding, delimiter=layout.delimiter, known=known):
        yield from SheetReader(table, layout, zone, ledger).readings()
