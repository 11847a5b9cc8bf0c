"""The query over a database's tables follows the keys that the database declares, and nothing else."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from bridge.drafting.joins import join_query
from bridge.drafts import draft_file

TABLES = [
    'CREATE TABLE clients (id INTEGER PRIMARY KEY, last_name TEXT, first_name TEXT, dob TEXT)',
    'CREATE TABLE visits (id INTEGER PRIMARY KEY, client_id INTEGER REFERENCES clients(id), visit_date TEXT)',
    'CREATE TABLE "ear notes" (id INTEGER PRIMARY KEY, visit INTEGER REFERENCES visits(id), ear TEXT, wax TEXT)',
    "CREATE TABLE prices (id INTEGER PRIMARY KEY, amount TEXT)",
]  # fmt: skip


@pytest.fixture
def database(tmp_path: Path) -> Path:
    path = tmp_path / "clinic.sqlite"
    with closing(sqlite3.connect(path)) as made, made:
        for table in TABLES:
            made.execute(table)
        made.execute("INSERT INTO clients VALUES (1, 'Testington', 'Ada', '1950-05-03')")
        made.execute("INSERT INTO visits VALUES (7, 1, '2026-05-14'), (8, 1, '2026-06-14')")
        made.execute("INSERT INTO \"ear notes\" VALUES (1, 7, 'R', 'heavy'), (2, 7, 'L', 'mild')")
    return path


def test_the_tables_are_joined_and_no_visit_is_lost(database: Path) -> None:
    """Oracle: SQLite itself answers the query."""
    query = join_query(TABLES).query
    with closing(sqlite3.connect(database)) as opened:
        cursor = opened.execute(query)
        names = [d[0] for d in cursor.description]
        rows = cursor.fetchall()
    expected = ["visits_id", "visit_date", "ear", "wax", "clients_id", "last_name", "first_name", "dob"]
    assert names == expected
    assert [row[0] for row in rows] == [7, 7, 8]


def test_a_database_is_drafted_with_its_query(database: Path) -> None:
    found = draft_file(database)
    assert "LEFT JOIN" in found.sheet.settings["query"]
    assert found.rows == "ear"
    assert {g.field for g in found.guesses} >= {
        "number", "client.number", "start.date", "ear", "ear.before.wax", "client.birth_date"
    }  # fmt: skip


@pytest.mark.parametrize(
    "statements",
    [
        [],
        ["CREATE TABLE a (b TEXT)"],
        ["DROP TABLE x", "ATTACH 'x' AS y", "CREATE TABLE a (b TEXT); DROP TABLE a", "nonsense"],
        ["CREATE TABLE a (b INTEGER REFERENCES gone(id))"],
        ["CREATE TABLE a (id INTEGER PRIMARY KEY, up INTEGER REFERENCES a(id))"],
    ],
)
def test_no_declared_keys_no_query(statements: list[str]) -> None:
    assert join_query(statements).query == ""


UNDECLARED = [
    "CREATE TABLE clients (id INTEGER, Surname TEXT, Forename TEXT, DOB TEXT)",
    "CREATE TABLE visits (visit_id INTEGER, ClientID INTEGER, visit_date TEXT, consent_to_share TEXT)",
    "CREATE TABLE ears (VisitID INTEGER, ear TEXT, wax TEXT)",
    "CREATE TABLE payments (visit_id INTEGER, amount TEXT, paid_on TEXT)",
]


def undeclared(path: Path, ears: str, clients: str = "(1, 'Testington', 'Ada', '1950-05-03')") -> Path:
    with closing(sqlite3.connect(path)) as made, made:
        for table in UNDECLARED:
            made.execute(table)
        made.execute(f"INSERT INTO clients VALUES {clients}")  # noqa: S608
        made.execute("INSERT INTO visits VALUES (7, 1, '2026-05-14', 'yes'), (8, NULL, '2026-06-14', 'no')")
        made.execute(f"INSERT INTO ears VALUES {ears}")  # noqa: S608
        made.execute("INSERT INTO payments VALUES (7, '30', '2026-05-14'), (7, '30', '2026-05-20')")
    return path


def test_keys_that_only_the_rows_prove_join_without_losing_or_doubling_visits(tmp_path: Path) -> None:
    """Oracle: the rows as they were put in, two ears of the first visit and a second visit without an ear or client."""
    found = draft_file(undeclared(tmp_path / "c.sqlite", "(7, 'R', 'heavy'), (7, 'L', 'mild')"))
    query = found.sheet.settings["query"]
    with closing(sqlite3.connect(tmp_path / "c.sqlite")) as opened:
        cursor = opened.execute(query)
        names = [d[0] for d in cursor.description]
        rows = [dict(zip(names, row, strict=True)) for row in cursor.fetchall()]
    assert sorted((r["visit_id"], r["ear"] or "") for r in rows) == [(7, "L"), (7, "R"), (8, "")]
    assert {r["Surname"] for r in rows} == {"Testington", None}
    assert "payments" not in query
    assert all(told.startswith("likely: ") for told in found.sheet.joined)
    assert len(found.sheet.joined) == 2


@pytest.mark.parametrize(
    ("ears", "clients"),
    [
        ("(99, 'R', 'heavy')", "(1, 'Testington', 'Ada', '1950-05-03'), (1, 'Testington', 'Bob', '1951-05-03')"),
        ("(NULL, 'R', 'heavy')", "(2, 'Testington', 'Ada', '1950-05-03')"),
    ],
    ids=["not contained, not unique", "nothing to see, another client"],
)
def test_names_alone_join_nothing(tmp_path: Path, ears: str, clients: str) -> None:
    found = draft_file(undeclared(tmp_path / "c.sqlite", ears, clients))
    assert [told for told in found.sheet.joined if "payments" not in told] == []
    assert "LEFT JOIN" not in found.sheet.settings.get("query", "")
