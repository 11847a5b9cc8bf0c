"""The one door through which every kind of sheet comes in."""

from __future__ import annotations

from pathlib import Path

from bridge.read.csv_table import open_csv
from bridge.read.rows import Raw, Table

__all__ = ["Raw", "Table", "open_tables"]


def open_tables(
    path: Path,
    *,
    encoding: str = "auto",
    delimiter: str = "auto",
    known: frozenset[str] = frozenset(),
    query: str = "",
) -> list[Table]:
    """The tables of a file in its own order. Raises InputError where the file holds none.

    `encoding` and `delimiter` are for CSV, `query` for databases; `known`: folded headings that help to find the
    delimiter.
    """
    return [open_csv(path, encoding, delimiter, known)]
