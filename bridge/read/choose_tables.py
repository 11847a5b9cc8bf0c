"""Which tables of a file hold visits, and which layout each of them gets."""

from __future__ import annotations

from collections.abc import Sequence
from fnmatch import fnmatchcase
from pathlib import Path

from bridge.errors import InputError
from bridge.issues import Issue, Where, issue
from bridge.layout import Layout, choose_layout, missing_headings
from bridge.layout.tables import fold
from bridge.read.fault import cut
from bridge.read.headings import heading
from bridge.read.kinds import what_is
from bridge.read.rows import Table
from bridge.read.sheet import known_headings
from bridge.read.table import open_tables

Chosen = list[tuple[Table, Layout]]
FEW = 5


def choose_tables(path: Path, layouts: Layout | Sequence[Layout]) -> tuple[Chosen, list[Issue]]:
    """Tables that hold visits, each with its layout, and what is told of the others.

    One layout was named by the person: the tables that it names, or that its headings fit. Several are what the
    practice has: each table gets the one that fits it. Raises InputError where no table is left.
    """
    named = isinstance(layouts, Layout)
    known: list[Layout] = [layouts] if isinstance(layouts, Layout) else list(layouts)
    kind = what_is(path)
    if kind == "database" and (asked := [lay for lay in known if lay.query]):
        chosen = _queries(path, asked, named)
        if chosen or named:
            return chosen, []
    known = known if named else [lay for lay in known if not lay.query]
    tables = _open(path, known[0] if named else None)
    if kind == "sheet":
        if named:
            return [(tables[0], known[0])], []
        layout = choose_layout(_headings(tables[0], None), known, path.name)
        return [(_open(path, layout)[0], layout)], []
    return _several(path.name, tables, known, named)


def _open(path: Path, layout: Layout | None) -> list[Table]:
    if layout is None:
        return open_tables(path)
    return open_tables(
        path, encoding=layout.encoding, delimiter=layout.delimiter, known=known_headings(layout), query=layout.query
    )


def _headings(table: Table, layout: Layout | None) -> list[str]:
    if layout is None:
        return heading(table)[0]
    return heading(table, known_headings(layout), layout.heading_rows)[0]


def _queries(path: Path, layouts: list[Layout], named: bool) -> Chosen:
    """The answers to the layouts' queries, as far as they can be asked of this database."""
    chosen: Chosen = []
    for layout in layouts:
        try:
            table = _open(path, layout)[0]
        except InputError:
            if named:
                raise
            continue
        if named or not missing_headings(_headings(table, layout), layout):
            chosen.append((table, layout))
    if len(chosen) > 1:
        names = ", ".join(f"“{lay.name}”" for _, lay in chosen)
        raise InputError(f"More than one layout fits {path.name}: {names}.", "Name the one you mean with --layout.")
    return chosen


def _several(file: str, tables: list[Table], layouts: list[Layout], named: bool) -> tuple[Chosen, list[Issue]]:
    chosen: Chosen = []
    hidden: list[Table] = []
    unfit: list[tuple[Table, InputError | None]] = []
    for table in tables:
        own = [lay for lay in layouts if _names(lay, table)]
        meant = own or [lay for lay in layouts if not lay.sheet]
        if table.hidden and not own:
            hidden.append(table)
        elif not meant or not _headings(table, None):
            unfit.append((table, None))
        elif (found := _layout_of(table, meant, sure=bool(own) and named)) is None or isinstance(found, InputError):
            unfit.append((table, found))
        else:
            chosen.append((table, found))
    if not chosen:
        chosen = _nearest(file, [t for t, _ in unfit if _headings(t, None)], layouts, named)
        unfit = [(t, e) for t, e in unfit if t is not chosen[0][0]]
    return chosen, [*_missing(file, tables, layouts, named), *_told(file, hidden, unfit)]


def _names(layout: Layout, table: Table) -> bool:
    return any(fnmatchcase(fold(table.title), fold(pattern)) for pattern in layout.sheet)


def _layout_of(table: Table, layouts: list[Layout], *, sure: bool) -> Layout | InputError | None:
    """The layout of a table; a reason where none or several fit. `sure`: the person named layout and sheet."""
    if sure:
        return layouts[0]
    fitting = [lay for lay in layouts if not missing_headings(_headings(table, lay), lay)]
    if not fitting:
        return None
    try:
        return choose_layout(_headings(table, fitting[0]), fitting)
    except InputError as error:
        if len(fitting) > 1:
            raise
        return error


def _nearest(file: str, tables: list[Table], layouts: list[Layout], named: bool) -> Chosen:
    """Where no table fits, the reason: of the named layout with the table nearest to it, all issues at its cells."""
    if not tables:
        raise InputError(f"{file} holds no rows.", "Check that the right file was saved.")
    if not named:
        meant = [lay for lay in layouts if not lay.sheet or any(_names(lay, t) for t in tables)]
        table = min(tables, key=lambda t: min((_lack(t, lay) for lay in meant), default=0))
        choose_layout(_headings(table, None), meant, file)
        raise InputError(f"No layout fits a sheet of {file}.")
    layout = layouts[0]
    if layout.sheet and not any(_names(layout, t) for t in tables):
        names = ", ".join(f"“{cut(t.title)}”" for t in tables[:FEW])
        raise InputError(
            f"{file} has no sheet that the layout names under `sheet`.", f"Its sheets are: {names}." if names else ""
        )
    return [(min(tables, key=lambda t: _lack(t, layout)), layout)]


def _lack(table: Table, layout: Layout) -> int:
    return len(missing_headings(_headings(table, layout), layout))


def _missing(file: str, tables: list[Table], layouts: list[Layout], named: bool) -> list[Issue]:
    """R216 for each sheet that the named layout wants and the file does not have."""
    if not named:
        return []
    wanted = [p for p in layouts[0].sheet if not any(fnmatchcase(fold(t.title), fold(p)) for t in tables)]
    return [issue("R216", f"The file has no sheet “{cut(pattern)}”.", Where(file)) for pattern in wanted]


def _told(file: str, hidden: list[Table], unfit: list[tuple[Table, InputError | None]]) -> list[Issue]:
    found = []
    if hidden:
        told = f"{_count(len(hidden), 'hidden sheet')} left alone: {_listed(hidden)}."
        found.append(issue("R141", told, Where(file), cause=f"R141:{file}"))
    others = [t for t, _ in unfit if _headings(t, None)]
    if others:
        told = f"{_count(len(others), 'other sheet')} left alone: {_listed(others)}."
        found.append(issue("R146", told, Where(file), cause=f"R146:{file}"))
    return found


def _count(number: int, what: str) -> str:
    return f"1 {what} was" if number == 1 else f"{number} {what}s were"


def _listed(tables: list[Table]) -> str:
    names = ", ".join(f"“{cut(t.title)}”" for t in tables[:FEW])
    return names + (f" and {len(tables) - FEW} more" if len(tables) > FEW else "")
