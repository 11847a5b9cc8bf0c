"""Reads visits from the records as a practice keeps them.

Every visit comes with all that is wrong with it and the cell or line of each field. An error in one visit never stops
the next; only a file that cannot be opened or understood at all raises InputError.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from zoneinfo import ZoneInfo

from bridge.errors import InputError
from bridge.issues import Where
from bridge.layout import Layout
from bridge.read.choose_tables import choose_tables
from bridge.read.kinds import TABLES, what_is
from bridge.read.ledger import Ledger
from bridge.shapes import Reading


def is_sheet(source: Path) -> bool:
    """Whether a file is read through a layout; visits in the model's own shape need none."""
    return what_is(source) in TABLES


def read_visits(
    source: Path, layout: Layout | Sequence[Layout] | None, zone: ZoneInfo, ledger: Ledger | None = None
) -> Iterator[Reading]:
    """Visits of a file, whatever it is: of tables with their layout, or in the model's own shape; in the file's order.

    `layout`: the one that the person named, or all that the practice has, of which each table gets the one that fits.

    `zone` is the practice's; times without an offset are in it. Give one `ledger` to several files, so that a visit
    number or a client met in one is known in the next. Readings without a visit are either `left_alone` on purpose or
    carry the issues for which they are none. Raises InputError where the file cannot be read at all, and for a sheet
    without a layout.
    """
    from bridge.read.visits_json import read_json_visits
    from bridge.read.visits_table import SheetReader
    from bridge.read.visits_yaml import read_yaml_visits

    ledger = ledger if ledger is not None else Ledger()
    kind = what_is(source)
    if kind == "yaml":
        yield from read_yaml_visits(source, zone, ledger)
        return
    if kind == "visits":
        yield from read_json_visits(source, zone, ledger)
        return
    if not layout and kind in TABLES:
        raise InputError(
            f"{source.name} is a sheet, and no layout says which column is which.",
            "`visit-bridge layout draft FILE` proposes one for your sheet; put it into the folder `layouts` of your"
            " practice folder, or name one with --layout.",
        )
    chosen, issues = choose_tables(source, layout or ())
    if issues:
        yield Reading(None, issues, where=Where(source.name), left_alone="headings")
    for table, own in chosen:
        yield from SheetReader(table, own, zone, ledger).readings()
