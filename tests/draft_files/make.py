"""Writes the clinic files that are not plain text: `python -m tests.draft_files.make [FOLDER]`."""

from __future__ import annotations

import sqlite3
import sys
from contextlib import closing
from pathlib import Path

from tests.draft_files import HERE, database_texts, dictated_texts, french_texts, register_texts
from tests.draft_files.workbook import Workbook

BOOKS = {
    "consultations.xlsx": french_texts.PAGES,
    "dictated.xlsx": dictated_texts.PAGES,
    "register.xlsx": register_texts.PAGES,
}
DATABASE = "earbook.sqlite"


def make(folder: Path) -> None:
    for name, pages in BOOKS.items():
        Workbook(pages).write(folder / name)
    _database(folder / DATABASE)


def _database(path: Path) -> None:
    path.unlink(missing_ok=True)
    with closing(sqlite3.connect(path)) as database, database:
        database.execute("PRAGMA page_size = 4096")
        database.executescript(database_texts.SCHEMA)
        for table in ("clients", "visits", "ears"):
            rows = getattr(database_texts, table.upper())
            places = ", ".join("?" * len(rows[0]))
            database.executemany(f"INSERT INTO {table} VALUES ({places})", rows)  # noqa: S608 (our own names)
    data = bytearray(path.read_bytes())
    data[VERSION] = bytes(4)
    path.write_bytes(data)


VERSION = slice(96, 100)
"""Where a database file keeps the version of the library that wrote it (SQLite file format, 1.3.14)."""

if __name__ == "__main__":
    make(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE)
