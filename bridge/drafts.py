"""The corridor to drafting: opens a file, hands its headings and rows to the room, and shows what a layout reads."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from bridge.coding import load_term_maps
from bridge.drafting import ENOUGH, Draft, Sheet, draft_layout, fits, known_columns
from bridge.drafting.joins import Joined, join_query
from bridge.errors import InputError
from bridge.issues import Issue
from bridge.layout import Layout
from bridge.layout.tables import fold
from bridge.marked_yaml import load_marked
from bridge.read.choose_tables import choose_tables
from bridge.read.headings import heading
from bridge.read.kinds import what_is
from bridge.read.ledger import Ledger
from bridge.read.said import Cell, Day
from bridge.read.sheet import left_alone, needed_columns
from bridge.read.source import Encoding, find_encoding
from bridge.read.table import Raw, Table, open_tables
from bridge.read.visits_table import SheetReader


def draft_file(path: Path, sheet: str = "", folder: Path | None = None) -> Draft:
    """The proposed layout of a file's sheet. Raises InputError for files that are none.

    `sheet`: the name of the worksheet, or of the table of a database; `folder`: the practice's, for its own words.
    """
    return draft_layout(take_sheet(path, sheet), load_term_maps(folder))


def own_layout(
    headings: list[str], file: Path, folder: Path | None, named: Path | None = None
) -> tuple[Path | None, dict[str, Any]]:
    """The layout that is there already for a sheet with these headings, as it was written, open questions too."""
    places = [named] if named else [*sorted((folder / "layouts").glob("*.y*ml"))] if folder else []
    places += [] if named or folder else [Path(f"{file.stem}.layout.yaml")]
    found = [(path, data) for path in places if (data := _as_written(path))]
    path, data = max(found, key=lambda f: (fits(f[1], headings), f[0].stem == file.stem), default=(None, {}))
    return (path, data) if path and fits(data, headings) >= ENOUGH else (None, {})


def _as_written(path: Path) -> dict[str, Any]:
    """A layout's plain data; nothing where it is none, or is broken: then there is nothing to take over."""
    try:
        data = load_marked(path.read_bytes())[0]
    except (OSError, InputError):
        return {}
    return data if isinstance(data, dict) else {}


def take_sheet(path: Path, sheet: str = "") -> Sheet:
    """The sheet with its cells counted; rows that are no records (sums, headings again) are left out."""
    settings: dict[str, Any] = {}
    joined = _joined(path) if not sheet and what_is(path) == "database" else Joined()
    if joined.query:
        table = open_tables(path, query=joined.query)[0]
        settings["query"] = joined.query
    else:
        tables = open_tables(path)
        table = _choose(tables, sheet, path)
        others = [t for t in tables if t is not table and heading(t)[0] and heading(t)[0] != heading(table)[0]]
        if others:
            settings["sheet"] = table.title
        if what_is(path) == "sheet" and find_encoding(path) == Encoding("cp1252", True):
            settings["encoding"] = "cp1252"
    headings, first = heading(table)
    if not any(headings):
        raise InputError(f"{path.name} holds no headings.", "The first row should name the columns.")
    found = Sheet(path.stem[:60].strip() or "sheet", headings, typed=table.typed, settings=settings, joined=joined.told)
    found.take(r.cells for r in table.rows() if r.number >= first and not r.broken and not left_alone(r, headings, []))
    return found


def _joined(path: Path) -> Joined:
    kept = open_tables(
        path, query="SELECT sql FROM sqlite_master WHERE type = 'table' AND sql IS NOT NULL ORDER BY name"
    )

    def proves(query: str) -> bool:
        try:
            return any(row.cells[:1] == ["1"] for table in open_tables(path, query=query) for row in table.rows())
        except InputError:
            return False

    return join_query((row.cells[0] for row in kept[0].rows()), proves)


def _choose(tables: Sequence[Table], name: str, path: Path) -> Table:
    """The table of that name, or the one of whose headings most are known; Raises InputError where there is none."""
    if name:
        for table in tables:
            if fold(table.title) == fold(name):
                return table
        known = ", ".join(f"“{t.title[:60]}”" for t in tables[:10])
        raise InputError(f"{path.name} has no sheet “{name[:60]}”.", f"Its sheets: {known}." if known else "")
    seen = [t for t in tables if not t.hidden] or list(tables)
    return max(seen, key=lambda t: known_columns(heading(t)[0]))


@dataclass(frozen=True, slots=True)
class ShownCell:
    """What became of one cell of a sample row."""

    heading: str
    cell: str
    field: str
    value: str
    identity: bool
    issues: tuple[Issue, ...] = ()


@dataclass(slots=True)
class Trial:
    """What a layout makes of a file: columns without a partner on the other side, and three rows as they are read."""

    layout: Layout
    sheet: str = ""
    unmapped: list[str] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)
    ignored: list[str] = field(default_factory=list)
    records: int = 0
    rows: list[tuple[int, list[ShownCell]]] = field(default_factory=list)
    issues: list[Issue] = field(default_factory=list)
    """Of the sheet itself and of the rows shown."""


def try_layout(path: Path, layouts: Layout | Sequence[Layout], zone: ZoneInfo) -> Iterator[Trial]:
    """What the layout, or the one of several that fits, makes of each table of the file. Raises InputError."""
    chosen, told = choose_tables(path, layouts)
    for table, layout in chosen:
        reader = SheetReader(table, layout, zone, Ledger())
        trial = Trial(layout, table.sheet, issues=[*told])
        have = {fold(h) for h in reader.sheet.headings}
        known = {fold(c.heading) for c in layout.columns}
        trial.unmapped = list(dict.fromkeys(h for h in reader.sheet.headings if h and fold(h) not in known))
        trial.missing = [c.heading for c in layout.columns if fold(c.heading) not in have and not c.optional]
        trial.ignored = [c.heading for c in layout.columns if not c.targets and fold(c.heading) in have]
        if reader.sheet.usable:
            _show_rows(reader, trial)
        else:
            trial.issues += reader.sheet.issues
        told = []
        yield trial


def _show_rows(reader: SheetReader, trial: Trial) -> None:
    needed = needed_columns(reader.sheet)
    numbers = [r.number for r in reader.sheet.rows() if not left_alone(r, reader.sheet.headings, needed)]
    trial.records = len(numbers)
    wanted = dict.fromkeys([*numbers[:1], *numbers[len(numbers) // 2 : len(numbers) // 2 + 1], *numbers[-1:]])
    found: dict[int, list[Issue]] = {}
    for reading in reader.readings():
        for one in reading.issues:
            if one.where.row in wanted or reading.left_alone == "headings":
                found.setdefault(one.where.row or 0, []).append(one)
    trial.issues += [i for row, issues in found.items() if row not in wanted for i in issues]
    for raw in reader.sheet.rows():
        if raw.number in wanted:
            issues = found.get(raw.number, [])
            trial.rows.append((raw.number, list(_cells(reader, raw, issues))))
            trial.issues += issues


def _cells(reader: SheetReader, raw: Raw, issues: list[Issue]) -> Iterator[ShownCell]:
    for bound in reader.sheet.bound:
        said = reader.said(bound, raw)
        text = raw.cells[bound.at].strip() if bound.at < len(raw.cells) else ""
        if not text and said is None:
            continue
        target = bound.target.field
        path = (f"ear.{target.path}" if target.scope == "ear" else target.path) + (
            f".{target.part}" if target.part else ""
        )
        own = tuple(i for i in issues if i.where.heading and fold(i.where.heading) == fold(bound.heading))
        yield ShownCell(bound.heading, text, path, _value(said), target.identity, own)


def _value(said: Cell | None) -> str:
    """What a cell was read as, in words."""
    if said is None:
        return "nothing: not recorded"
    told = []
    for put in said.puts:
        inner = ".".join(name for name, _ in put.inner)
        ears = f"{' and '.join(put.ears)}: " if put.ears else ""
        told.append(
            f"{ears}{_plain(put.value)}" + (f" ({inner})" if inner not in ("", "findings", "amount", "items") else "")
        )
    told += [f"kept as a note: {note.text}" for note in said.notes]
    return "; ".join(told) or "not understood"


def _plain(value: Any) -> str:
    if isinstance(value, Day) or hasattr(value, "text"):
        return str(value.text)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dict):
        return " ".join(_plain(v) for v in value.values())
    if isinstance(value, list | tuple):
        return " ".join(map(_plain, value))
    return str(value)
