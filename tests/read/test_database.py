"""SQLite: tables and queries read and nothing else, whatever the file or the query would like."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from bridge.errors import InputError
from bridge.layout import load_layout
from bridge.read import database
from bridge.read.headings import heading
from bridge.read.table import open_tables
from bridge.read.visits import read_visits
from tests.read.sheets import LONDON, codes, good, layout_data, records, write_layout


def make(path: Path, *statements: str) -> Path:
    with closing(sqlite3.connect(path)) as connection:
        for statement in statements:
            connection.execute(statement)
        connection.commit()
    return path


SMALL = ("CREATE TABLE visits (no, day, note)", "INSERT INTO visits VALUES ('V1', '2026-05-03', 'a'), (2, 1.50, NULL)")


def read_all(path: Path) -> None:
    for table in open_tables(path):
        list(table.rows())


def cells(path: Path, query: str = "") -> list[list[str]]:
    return [raw.cells for raw in open_tables(path, query=query)[0].rows()]


def test_a_table_is_read_as_it_stands(tmp_path: Path) -> None:
    made = make(tmp_path / "a.db", *SMALL)
    table = open_tables(made)[0]
    assert heading(table) == (["no", "day", "note"], 1)
    assert (table.sheet, table.title) == ("", "visits")
    assert [(raw.number, raw.cells) for raw in table.rows()] == [
        (1, ["V1", "2026-05-03", "a"]), (2, ["2", "1.5", ""]),
    ]  # fmt: skip
    with closing(sqlite3.connect(made)) as other:  # oracle: the database itself
        rows = other.execute("SELECT * FROM visits").fetchall()
    assert [["" if v is None else str(v) for v in row] for row in rows] == cells(made)


def test_views_and_several_tables_have_names(tmp_path: Path) -> None:
    made = make(tmp_path / "a.db", *SMALL, "CREATE VIEW recent AS SELECT no FROM visits", "CREATE TABLE odd (a, b)",
                "CREATE VIEW broken AS SELECT * FROM gone")  # fmt: skip
    assert [t.sheet for t in open_tables(made)] == ["odd", "recent", "visits"]


def test_a_query_gives_the_headings(tmp_path: Path) -> None:
    made = make(tmp_path / "a.db", *SMALL, "CREATE TABLE people (no, name)", "INSERT INTO people VALUES ('V1', 'x')")
    query = 'SELECT v.no AS "Visit no", p.name FROM visits v JOIN people p ON p.no = v.no'
    table = open_tables(made, query=query)[0]
    assert (heading(table)[0], table.sheet) == (["Visit no", "name"], "query")
    assert cells(made, query) == [["V1", "x"]]


REFUSED: dict[str, tuple[str, str]] = {
    "a write": ("DELETE FROM visits", "something else than reading"),
    "a write behind WITH": ("WITH a AS (SELECT 1) DELETE FROM visits", "something else than reading"),
    "another file": ("ATTACH 'b.db' AS b", "something else than reading"),
    "a setting": ("PRAGMA writable_schema = 1", "something else than reading"),
    "two statements": ("SELECT 1; SELECT 2", "something else than reading"),
    "an extension": ("SELECT load_extension('x')", "something else than reading"),
    "a table that is not there": ("SELECT * FROM vists", "no table “vists”. Near it: “visits”"),
    "a column that is not there": ("SELECT nte FROM visits", "no column “nte”. Near it: “note”"),
    "a slip": ("SELEC 1", "cannot be answered"),
    "nothing": ("SELECT", "cannot be answered"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_no_reading_is_refused(name: str, tmp_path: Path) -> None:
    query, told = REFUSED[name]
    made = make(tmp_path / "a.db", *SMALL)
    before = made.read_bytes()
    with pytest.raises(InputError, match=told) as caught:
        cells(made, query)
    assert caught.value.help
    assert made.read_bytes() == before
    assert os.listdir(tmp_path) == ["a.db"]


def test_a_query_that_never_ends_is_stopped(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(database, "SECONDS", 0)
    made = make(tmp_path / "a.db", *SMALL)
    endless = "WITH RECURSIVE a(n) AS (SELECT 1 UNION ALL SELECT n + 1 FROM a) SELECT count(*) FROM a"
    with pytest.raises(InputError, match="longer than"):
        cells(made, endless)
    monkeypatch.setattr(database, "SECONDS", 60)
    monkeypatch.setattr(database, "MAX_ROWS", 1000)
    with pytest.raises(InputError, match="more than 1,000 rows"):
        cells(made, endless.replace("count(*)", "n"))


def test_a_damaged_database_is_said(tmp_path: Path) -> None:
    whole = make(
        tmp_path / "a.db", *SMALL, "CREATE TABLE long (a)", *["INSERT INTO long VALUES (hex(randomblob(3000)))"] * 9
    )
    content = whole.read_bytes()
    for number, broken in enumerate((content[:100], content[:5000], content[:16] + b"\xff" * 4000 + content[4016:])):
        path = tmp_path / f"{number}.db"
        path.write_bytes(broken)
        with pytest.raises(InputError, match="cannot be read"):
            read_all(path)
    (tmp_path / "locked.db").write_bytes(os.urandom(8192))
    with pytest.raises(InputError, match="password"):
        open_tables(tmp_path / "locked.db")
    with pytest.raises(InputError, match="without tables"):
        open_tables(make(tmp_path / "empty.db", "CREATE TABLE a (b)", "DROP TABLE a"))


@pytest.fixture
def in_use(tmp_path: Path) -> Iterator[Path]:
    made = make(tmp_path / "a.db", *SMALL)
    with closing(sqlite3.connect(made, isolation_level=None)) as other:
        other.execute("PRAGMA journal_mode = DELETE")
        other.execute("BEGIN EXCLUSIVE")
        other.execute("INSERT INTO visits VALUES ('V3', '', '')")
        (tmp_path / "a.db-journal").touch()
        yield made


def test_a_locked_database_is_said(in_use: Path) -> None:
    with pytest.raises(InputError, match="in use by another program"):
        cells(in_use)


def test_what_another_program_has_just_written_is_read(tmp_path: Path) -> None:
    """In write-ahead mode new rows stand in a file beside the database until it is closed."""
    made = make(tmp_path / "a.db", *SMALL)
    with closing(sqlite3.connect(made, isolation_level=None)) as other:
        other.execute("PRAGMA journal_mode = WAL")
        other.execute("INSERT INTO visits VALUES ('V3', '', '')")
        assert len(cells(made)) == 3


def test_text_that_is_none_spoils_its_own_row(tmp_path: Path) -> None:
    layout = load_layout(
        write_layout(tmp_path, layout_data("visit", {"query": 'SELECT * FROM visits ORDER BY "Visit no"'}))
    )
    rows = [good("visit") | {"Visit no": f"V{n}", "Notes": f"no. {n}"} for n in range(3)]
    heads = [c.heading for c in layout.columns if not c.optional]
    with closing(sqlite3.connect(tmp_path / "a.db")) as connection:
        connection.execute(f"CREATE TABLE visits ({', '.join(chr(34) + h + chr(34) for h in heads)})")
        into = f"INSERT INTO visits VALUES ({', '.join('?' * len(heads))})"  # noqa: S608 - our own words
        connection.executemany(into, [[row.get(h) for h in heads] for row in rows])
        connection.execute("UPDATE visits SET Reason = CAST(x'fffe41' AS TEXT) WHERE \"Visit no\" = 'V1'")
        connection.commit()
    readings = records(list(read_visits(tmp_path / "a.db", layout, LONDON)))
    assert [bool(r.visit) for r in readings] == [True, False, True]
    assert codes(readings) == ["R124"]
    assert "visit V1, column “Reason”" in str(readings[1].issues[0].where), "a row of an answer has no number to see"
    assert [(r.where.sheet, r.where.row) for r in readings] == [("query", 1), ("query", 2), ("query", 3)]
    found = records(list(read_visits(tmp_path / "a.db", [layout], LONDON)))
    assert [bool(r.visit) for r in found] == [True, False, True], "the practice's own layout with a query is found"
