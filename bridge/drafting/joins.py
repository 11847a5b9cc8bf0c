"""A query over a database's tables, joined by the keys that the database declares, or that its rows prove."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import closing
from dataclasses import dataclass, field

from bridge.drafting.headings import read_headings
from bridge.drafting.tables import tokens

MOST_TABLES = 100
_KEYS = frozenset(("id", "no", "nr", "key", "ref", "code", "number", "num", "nummer", "fk", "pk"))
Proves = Callable[[str], bool]
"""Answers a query with yes where its one cell is 1."""


@dataclass(slots=True)
class _Made:
    """A table as its own statement makes it."""

    name: str
    columns: list[str] = field(default_factory=list)
    keys: list[str] = field(default_factory=list)
    parents: dict[str, tuple[str, str]] = field(default_factory=dict)
    """Column to the table and column that it points at."""


@dataclass(frozen=True, slots=True)
class Joined:
    """A query, and how its tables belong together where the database does not declare it."""

    query: str = ""
    told: tuple[str, ...] = ()


def join_query(statements: Iterable[str], proves: Proves | None = None) -> Joined:
    """The query that brings a visit's tables together; empty where nothing joins them.

    `statements`: the CREATE TABLE statements that the database keeps. They are only run in an empty database in memory.
    `proves`: asks the rows themselves; without it only declared keys count.
    """
    made = _tables(statements)
    told = list(_by_names(made, proves)) if proves else []
    reach = {name: _reach(name, made) for name in made}
    # A table of payments or photos points at visits too; joined, it would tell a visit twice.
    root = max(made, key=lambda name: (_of_ears(made[name]), len(reach[name]), name), default="")
    if not root or not reach[root]:
        return Joined()
    anchor = root if _dated(made[root]) else next((n for n in reach[root] if _dated(made[n])), root)
    joined, joins = [anchor], []
    waiting = [root, *reach[root]]
    while found := _next_join(joined, waiting, made):
        name, condition = found
        joins.append(f"LEFT JOIN {_quoted(name)} ON {condition}")
        joined.append(name)
    columns = _columns(joined, anchor, made)
    order = [f"{_quoted(n)}.{_quoted(k)}" for n in dict.fromkeys((anchor, root)) for k in made[n].keys]
    lines = [f"SELECT {columns[0]}", *(f"  {c}" for c in columns[1:])]
    lines = [f"{line}," for line in lines[:-1]] + lines[-1:]
    ordered = [f"ORDER BY {', '.join(order)}"] if order else []
    said = tuple(text for name, text in told if name in joined)
    return Joined("\n".join([*lines, f"FROM {_quoted(anchor)}", *joins, *ordered]), said)


def _by_names(made: dict[str, _Made], proves: Proves) -> Iterator[tuple[str, str]]:
    """Adds keys that are not declared: a column named like the key of another table, where that key stands once in each
    of its rows and holds everything that the column says. Tells each, with the table that it leads from."""
    for name, table in made.items():
        declared = {target for target, _ in table.parents.values()}
        for other in made.values():
            if other is table or other.name in declared or name in {t for t, _ in other.parents.values()}:
                continue
            pairs = [(own, key) for own in table.columns for key in other.columns if _alike(own, key, other.name)]
            for own, key in pairs:
                if own not in table.parents and own not in table.keys and proves(_proof(name, own, other.name, key)):
                    table.parents[own] = (other.name, key)
                    yield name, f"likely: “{name}”.“{own}” is “{other.name}”.“{key}”, by their names and their rows"
                    break


def _alike(own: str, key: str, table: str) -> bool:
    """`ClientID` beside `client_id`, or beside `id` of the table `clients`."""
    mine, theirs, of = tokens(own), tokens(key), tokens(table)
    if not mine or not theirs or not {mine[-1], theirs[-1]} & _KEYS:
        return False
    if mine == theirs:
        return len(mine) > 1
    whole = "".join(mine)
    named = {"".join(of) + end for end in ("", *theirs[-1:])}
    named |= {one + end for one in _singular("".join(of)) for end in ("", *theirs[-1:])}
    return len(theirs) == 1 and theirs[0] in _KEYS and whole in named


def _singular(word: str) -> Iterator[str]:
    for end, instead in (("ies", "y"), ("es", ""), ("s", ""), ("en", ""), ("n", "")):
        if word.endswith(end) and len(word) > len(end) + 2:
            yield word[: -len(end)] + instead


def _proof(name: str, own: str, other: str, key: str) -> str:
    child, parent, mine, theirs = map(_quoted, (name, other, own, key))
    once = f"SELECT COUNT(*) > 0 AND COUNT(*) = COUNT(DISTINCT {theirs}) FROM {parent}"  # noqa: S608 - quoted, read only
    some = f"SELECT 1 FROM {child} WHERE {mine} IS NOT NULL"  # noqa: S608 - quoted, read only
    astray = f"{some} AND {mine} NOT IN (SELECT {theirs} FROM {parent})"  # noqa: S608 - quoted, read only
    return f"SELECT ({once}) AND EXISTS ({some}) AND NOT EXISTS ({astray})"


def _of_ears(table: _Made) -> bool:
    return any(field.startswith("ear") for said in read_headings(table.columns)[1] for field in said.fields)


def _tables(statements: Iterable[str]) -> dict[str, _Made]:
    import sqlite3

    found: dict[str, _Made] = {}
    with closing(sqlite3.connect(":memory:")) as memory:
        for statement in list(statements)[:MOST_TABLES]:
            if " ".join(statement.split()).upper().startswith("CREATE TABLE"):
                try:
                    memory.execute(statement)
                except (sqlite3.Error, sqlite3.Warning):
                    continue
        names = [str(row[0]) for row in memory.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        for name in sorted(n for n in names if not n.startswith("sqlite_")):
            table = found[name] = _Made(name)
            for _, column, _, _, _, key in memory.execute(f"PRAGMA table_info({_quoted(name)})"):
                table.columns.append(str(column))
                if key:
                    table.keys.append(str(column))
        for name, table in found.items():
            for _, part, other, own, theirs, *_ in memory.execute(f"PRAGMA foreign_key_list({_quoted(name)})"):
                target = next((n for n in found if n.casefold() == str(other).casefold()), "")
                keys = [str(theirs)] if theirs else found[target].keys if target else []
                if target and target != name and part == 0 and len(keys) == 1:
                    table.parents[str(own)] = (target, keys[0])
    return found


def _reach(name: str, made: dict[str, _Made]) -> list[str]:
    """Tables that a table points at, directly or through others, nearest first."""
    found: list[str] = []
    waiting = [name]
    while waiting:
        for other, _ in made[waiting.pop(0)].parents.values():
            if other != name and other not in found:
                found.append(other)
                waiting.append(other)
    return found


def _dated(table: _Made) -> bool:
    return any(said.fields[:1] == ("start",) for said in read_headings(table.columns)[1])


def _next_join(joined: list[str], waiting: list[str], made: dict[str, _Made]) -> tuple[str, str] | None:
    for name in waiting:
        if name in joined:
            continue
        for other in joined:
            for child, parent in ((other, name), (name, other)):
                for own, (target, theirs) in made[child].parents.items():
                    if target == parent:
                        return name, f"{_quoted(child)}.{_quoted(own)} = {_quoted(parent)}.{_quoted(theirs)}"
    return None


def _columns(joined: list[str], anchor: str, made: dict[str, _Made]) -> list[str]:
    """Every column but those that only join or number their rows; a name that two tables have gets its table's in
    front."""
    pointed = {target for table in made.values() for target, _ in table.parents.values()}
    pairs = [
        (name, column)
        for name in joined
        for column in made[name].columns
        if column not in made[name].parents and (name == anchor or name in pointed or made[name].keys != [column])
    ]
    names = [column.casefold() for _, column in pairs]
    return [
        f"{_quoted(name)}.{_quoted(column)}"
        + (f" AS {_quoted(f'{name}_{column}')}" if names.count(column.casefold()) > 1 else "")
        for name, column in pairs
    ]


def _quoted(name: str) -> str:
    return '"' + name.replace('"', '""') + '"'
