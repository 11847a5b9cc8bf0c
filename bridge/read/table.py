"""The one door through which every kind of sheet comes in."""

from __future__ import annotations

from pathlib import Path

from bridge.errors import InputError
from bridge.read.csv_table import open_csv
from bridge.read.kinds import DOCUMENTS, FHIR, what_is
from bridge.read.locks import open_elsewhere
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
    kind = what_is(path)
    tables: list[Table]
    if kind in FHIR:
        told = "`visit-bridge check` looks at such a file; `convert` writes it anew with --format json or xml."
        raise InputError(f"{path.name} is a FHIR document, not a record of visits.", told)
    if kind in DOCUMENTS:
        told = "`visit-bridge check` looks at such a file; `receive` makes a visit file of one that is ours."
        raise InputError(f"{path.name} is a {kind.upper()} document, not a record of visits.", told)
    if kind in ("yaml", "visits"):
        raise InputError(f"{path.name} holds visits that need no layout.", "Name it to `convert` or `check` as it is.")
    if kind == "workbook":
        from bridge.read.xlsx.book import open_workbook

        tables = [*open_workbook(path)]
    elif kind == "database":
        from bridge.read.database import open_database

        tables = [*open_database(path, query)]
    elif kind == "sheet":
        tables = [open_csv(path, encoding, delimiter, known)]
    else:
        from bridge.read.json_table import open_json_tables

        tables = [*open_json_tables(path, kind)]
    tables[0].issues += open_elsewhere(path)
    return tables
