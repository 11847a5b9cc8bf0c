"""Tables of a SQLite database, and the answer to a layout's query, read only."""

from __future__ import annotations

import difflib
import re
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from bridge.errors import InputError
from bridge.issues import Issue
from bridge.read.fault import Fault, cut
from bridge.read.rows import Raw, Span

if TYPE_CHECKING:
    from sqlite3 import Connection

SECONDS = 60
"""Seconds that a query may take to the next row."""
MAX_TABLES = 500
MAX_ROWS = 10_000_000
_REFUSAL = re.compile("one statement|not authorized|prohibited")
QUERY = "query"
"""What the answer to a layout's query is called where a sheet's name is told."""


class DatabaseTable:
    """A table, a view, or the answer to a query; its columns' names are its headings."""

    typed = True
    hidden = False
    epoch = 1900

    def __init__(self, path: Path, title: str, sheet: str, query: str) -> None:
        self.file, self.title, self.sheet = path.name, title, sheet
        self.issues: list[Issue] = []
        self._path, self._query = path, query
        with _opened(path) as connection, _told(path.name, connection, query):
            cursor = connection.execute(query)
            self.names: list[str] | None = [" ".join(str(d[0]).split()) for d in cursor.description or ()]

    def spans(self) -> Sequence[Span]:
        return ()

    def rows(self) -> Iterator[Raw]:
        """One row for each of the answer, from 1."""
        with _opened(self._path) as connection, _told(self.file, connection, self._query):
            for number, row in enumerate(connection.execute(self._query), 1):
                if number > MAX_ROWS:
                    raise InputError(f"The query gives more than {MAX_ROWS:,} rows.", "Ask for fewer of them.")
                _allow(connection, SECONDS)
                faults: list[tuple[int, Fault]] = []
                cells = [_cell(value, at, faults) for at, value in enumerate(row, 1)]
                yield Raw(number, cells, faults=tuple(faults))


def open_database(path: Path, query: str = "") -> list[DatabaseTable]:
    """The answer to the query, or else every table and view. Raises InputError where it is not to be read."""
    if query:
        return [DatabaseTable(path, QUERY, QUERY, query)]
    with _opened(path) as connection, _told(path.name, connection, ""):
        names = _tables(connection)
    if not names:
        raise InputError(f"{path.name} is a database without tables.", "Check that it is the right file.")
    sheets = [(name, "" if len(names) == 1 else name) for name in names[:MAX_TABLES]]
    found, last = [], None
    for name, sheet in sheets:
        try:
            found.append(DatabaseTable(path, name, sheet, f"SELECT * FROM {_quoted(name)}"))  # noqa: S608 - quoted, read only
        except InputError as error:  # a view of a table that is gone does not spoil the others
            last = error
    if not found and last is not None:
        raise last
    return found


def _tables(connection: Connection) -> list[str]:
    wanted = "SELECT name FROM sqlite_master WHERE type IN ('table', 'view') AND name NOT LIKE 'sqlite\\_%' ESCAPE '\\'"
    return [str(row[0]) for row in connection.execute(f"{wanted} ORDER BY name")]


def _quoted(name: str) -> str:
    return '"' + name.replace('"', '""') + '"'


@contextmanager
def _opened(path: Path) -> Iterator[Connection]:
    """A connection that can do nothing but read this one file."""
    import sqlite3

    beside = [path.with_name(path.name + end) for end in ("-wal", "-journal")]
    mode = "mode=ro" if any(p.exists() for p in beside) else "mode=ro&immutable=1"
    try:
        connection = sqlite3.connect(f"file:{quote(str(path.resolve()))}?{mode}", uri=True, timeout=2)
    except sqlite3.Error:
        raise _unreadable(path.name) from None
    try:
        connection.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, 50_000_000)
        connection.setlimit(sqlite3.SQLITE_LIMIT_ATTACHED, 0)
        connection.text_factory = _text
        connection.set_authorizer(_authorised)
        _allow(connection, SECONDS)
        yield connection
    finally:
        connection.close()


def _allow(connection: Connection, seconds: int) -> None:
    end = time.monotonic() + seconds
    connection.set_progress_handler(lambda: time.monotonic() > end, 20_000)


_FUNCTIONS_REFUSED = frozenset({"load_extension", "readfile", "writefile", "edit", "fts3_tokenizer", "zeroblob"})


def _authorised(action: int, first: str | None, second: str | None, *_: Any) -> int:
    import sqlite3

    if action in (sqlite3.SQLITE_SELECT, sqlite3.SQLITE_READ, sqlite3.SQLITE_RECURSIVE):
        return sqlite3.SQLITE_OK
    if action == sqlite3.SQLITE_FUNCTION and str(second).lower() not in _FUNCTIONS_REFUSED:
        return sqlite3.SQLITE_OK
    return sqlite3.SQLITE_DENY


def _text(content: bytes) -> str:
    return content.decode("utf-8", "replace")


def _cell(value: Any, at: int, faults: list[tuple[int, Fault]]) -> str:
    if value is None:
        return ""
    if isinstance(value, bytes):
        faults.append((at, Fault("R147", "The cell holds bytes, such as a picture, and no text.", "bytes")))
        return ""
    if isinstance(value, float):
        from bridge.read.xlsx.values import plain_number

        return plain_number(repr(value))
    return str(value)


@contextmanager
def _told(file: str, connection: Connection, query: str) -> Iterator[None]:
    """What the database complains of, in plain words. The words of a query may be quoted, those of rows may not."""
    import sqlite3

    try:
        yield
    except (sqlite3.Error, sqlite3.Warning, UnicodeDecodeError) as error:
        code = getattr(error, "sqlite_errorcode", 0) & 0xFF
        if code == sqlite3.SQLITE_INTERRUPT:
            told = f"The query of the layout takes longer than {SECONDS} seconds in {file}."
            raise InputError(told, "Ask for fewer rows, or have whoever keeps the database add an index.") from None
        if code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED, sqlite3.SQLITE_CANTOPEN):
            told = f"{file} is in use by another program that does not let it be read."
            raise InputError(told, "Close that program, or copy the database and read the copy.") from None
        if code in (sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_IOERR):
            raise _unreadable(file) from None
        if code == sqlite3.SQLITE_AUTH or isinstance(error, sqlite3.Warning) or _REFUSAL.search(str(error)):
            told = "The query of the layout does something else than reading, which is refused."
            raise InputError(told, "A query is one SELECT.") from None
        raise _wrong_query(connection, str(error)) from None


def _unreadable(file: str) -> InputError:
    return InputError(
        f"{file} is a database that cannot be read: it is damaged or has a password.",
        "Export the table of visits as CSV and read that file.",
    )


def _wrong_query(connection: Connection, said: str) -> InputError:
    told = f"The query of the layout cannot be answered: {cut(said)}."
    missing = re.search(r"no such (table|column): (.+)", said)
    if missing:
        names = _names(connection, missing[1])
        wanted = missing[2].rpartition(".")[2]
        near = difflib.get_close_matches(wanted.casefold(), names, 3, 0.6) or sorted(names)[:5]
        told = f"The database has no {missing[1]} “{cut(wanted)}”."
        told += f" Near it: {', '.join(f'“{cut(names[n])}”' for n in near)}." if near else ""
    return InputError(told, "Correct the query in the layout.")


def _names(connection: Connection, kind: str) -> dict[str, str]:
    import sqlite3

    try:
        tables = _tables(connection)
        if kind == "table":
            return {t.casefold(): t for t in tables}
        found = {}
        for table in tables[:MAX_TABLES]:
            columns = connection.execute(f"SELECT * FROM {_quoted(table)} LIMIT 0")  # noqa: S608 - quoted, read only
            for column in columns.description or ():
                found[str(column[0]).casefold()] = str(column[0])
        return found
    except sqlite3.Error:
        return {}
