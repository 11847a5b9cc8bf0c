"""Visits of a table through its layout, one row per visit or one row per ear."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from hashlib import sha256
from typing import Any
from zoneinfo import ZoneInfo

from bridge.ear_words import EARS
from bridge.issues import Where, issue
from bridge.layout import Layout, Target
from bridge.layout.fields import Step, spell
from bridge.layout.formats import date_format, time_format
from bridge.layout.tables import fold
from bridge.read.accepted_ears import AcceptedEars
from bridge.read.cell import read_cell
from bridge.read.day_numbers import from_day_number
from bridge.read.ears import groups, put_ear_rows
from bridge.read.fault import CellError, Fault
from bridge.read.finish import REPEATED, finish, made_number
from bridge.read.ledger import Ledger
from bridge.read.moments import parse_moment
from bridge.read.onset import Waiting, put_waiting, waits
from bridge.read.record import Record, full_steps
from bridge.read.rows import Raw, Table
from bridge.read.said import Cell, Put
from bridge.read.sheet import Bound, Sheet, flat, left_alone, needed_columns, open_sheet, ragged
from bridge.shapes import Reading

_CACHE = 20_000
_NEW: Any = object()
TYPED_DATES, TYPED_TIMES = ("yyyy-mm-dd",), ("HH:MM", "HH:MM:SS")
"""How dates and times are told by tables that have real ones."""


class SheetReader:
    """Reads one sheet. Cells that say the same in the same column are understood once."""

    def __init__(self, table: Table, layout: Layout, zone: ZoneInfo, ledger: Ledger) -> None:
        self.layout, self.zone, self.ledger = _for_table(layout, table), zone, ledger
        self.sheet: Sheet = open_sheet(table, layout)
        self._needed = needed_columns(self.sheet)
        self._cells: dict[tuple[int, str], Cell | None] = {}
        self._constant = [(target, read_cell(layout, target, text)) for target, text in layout.constants]
        self._ways: dict[tuple[int, str, tuple[Step, ...], str, int], tuple[tuple[Step, ...], str]] = {}
        self._ears = AcceptedEars()
        self._waits = {id(b.target) for b in self.sheet.bound if waits(b.target.field)}
        self._waiting: list[Waiting] = []
        self._numbered = layout.fills("number")
        self._dates = [b for b in self.sheet.bound if b.target.field.path == "start" and b.target.field.part != "time"]
        self._key = self._key_columns()
        self._longest_blank = max(map(len, layout.blank_cells), default=0)

    def readings(self, wanted: Callable[[Raw], bool] = lambda raw: True) -> Iterator[Reading]:
        """One reading for each visit and for each row left alone; what is wrong with the sheet itself comes first.

        `wanted`: the rows that are read at all.
        """
        sheet = self.sheet
        where = sheet.make(sheet.heading_number, 0)
        issues = list(sheet.issues)
        if not sheet.usable:
            yield Reading(None, issues, where=where, left_alone="headings")
            return
        if not self._numbered:
            told = "The sheet has no visit numbers; they are made from date, time and client."
            issues.append(issue("R135", told, where))
        yield Reading(None, issues, where=where, left_alone="headings")
        if self.layout.rows == "visit":
            for raw in filter(wanted, sheet.rows()):
                yield self._alone(raw) or self._visit([raw])
        else:
            for found in groups(lambda: filter(wanted, sheet.rows()), self._row_key):
                if isinstance(found, Raw):
                    yield self._alone(found)  # type: ignore[misc]
                    continue
                rows = {tuple(raw.cells): raw for raw in reversed(found)}
                yield self._visit(sorted(rows.values(), key=lambda raw: raw.number))
                for again in [raw for raw in found if rows[tuple(raw.cells)] is not raw]:
                    yield Reading(None, [], where=sheet.make(again.number, 0), left_alone=REPEATED)

    def _key_columns(self) -> list[int]:
        by = ("number", "version") if self._numbered else ("start", "client.")
        return sorted({b.at for b in self.sheet.bound if b.target.field.path.startswith(by)})

    def _row_key(self, raw: Raw) -> str | None:
        """What rows of one visit have in common; None for a row left alone."""
        if self._alone(raw):
            return None
        return "\x1f".join(fold(raw.cells[at]) if at < len(raw.cells) else "" for at in self._key)

    def _alone(self, raw: Raw) -> Reading | None:
        if raw.broken:
            return None
        why = left_alone(raw, self.sheet.headings, self._needed)
        if raw.blank and any(column and fault.rule == "R142" for column, fault in raw.faults):
            return None  # formulas whose results are not kept
        if why and (told := [fault for column, fault in raw.faults if not column]):
            where = self.sheet.make(raw.number, 0)
            return Reading(None, [issue(f.rule, f.message, where, cause=f.rule) for f in told], where=where)
        if not why and self.layout.start_from and self._older(raw):
            why = f"before {self.layout.start_from.isoformat()}"
        return Reading(None, [], where=self.sheet.make(raw.number, 0), left_alone=why) if why else None

    def _older(self, raw: Raw) -> bool:
        for bound in self._dates:
            text = raw.cells[bound.at].strip() if bound.at < len(raw.cells) else ""
            try:
                text = from_day_number(text, self.layout.serial) if self.layout.serial else text
                day, _ = parse_moment(text, self.layout.dates, self.layout.times, self.layout.two_digit_years)
            except CellError:
                return False
            assert self.layout.start_from is not None
            return day < self.layout.start_from.isoformat()[: len(day)]
        return False

    def _visit(self, raws: list[Raw]) -> Reading:
        sheet = self.sheet
        where = sheet.make(raws[0].number, 0)
        record = Record(sheet.make, self.zone)
        for raw in raws:
            if raw.broken:
                told = "The quotation marks of this row are not in order."
                return Reading(None, [issue("R125", told, sheet.make(raw.number, 0))], where=where)
            if wrong := ragged(raw, sheet.headings, short=sheet.table.typed):
                record.issues.append(issue(wrong[0], wrong[1], sheet.make(raw.number, 0), cause=wrong[0]))
            self._faults(record, raw)
        if self.layout.rows == "visit":
            for bound in sheet.bound:
                self.put_cell(record, bound, raws[0], ())
        else:
            put_ear_rows(self, record, raws)
        put_waiting(record, self._waiting)
        self._waiting = []
        self._constants(record, raws[0])
        record.finish()
        made = not self._numbered
        if made:
            record.data["number"] = made_number(*(self._text(raws[0], at) for at in self._key))
        digest = "\x1e".join(flat(raw.cells, sheet.headings) for raw in raws)
        record.data["source_sha256"] = sha256(digest.encode("utf-8", "replace")).hexdigest()
        return finish(
            record.data,
            record.issues,
            record.places,
            where,
            record.failed,
            self.ledger,
            ears=self._ears,
            made=made,
            empty=lambda path: self._empty(path, raws[0]),
        )

    def _faults(self, record: Record, raw: Raw) -> None:
        """What the file itself says is wrong with cells, as far as their columns are wanted."""
        for column, fault in raw.faults:
            if not column:
                record.issues.append(
                    issue(
                        fault.rule, fault.message, self.sheet.make(raw.number, 0), cause=f"{fault.rule}:{fault.cause}"
                    )
                )
            for field in dict.fromkeys(b.target.field.path for b in self.sheet.bound if b.at == column - 1):
                record.fault(fault, field, (raw.number, column))

    def _empty(self, path: str, raw: Raw) -> Where | None:
        """The cell of a row that could have filled a field, or a part of it, or the list that it is in."""
        ear = path.partition(".")[0]
        for bound in self.sheet.bound:
            field = bound.target.field
            if field.scope == "ear" and ear not in EARS:
                continue
            own = field.path if field.scope != "ear" else f"{ear}.{field.path}"
            around = path.startswith(f"{own}[") and not self._text(raw, bound.at)
            if own == path or own.startswith(f"{path}.") or around:
                return replace(self.sheet.make(raw.number, bound.at + 1), path=path)
        return None

    def _text(self, raw: Raw, at: int) -> str:
        return raw.cells[at].strip() if at < len(raw.cells) else ""

    def said(self, bound: Bound, raw: Raw) -> Cell | None:
        """What a cell says; None where it says nothing."""
        if raw.faults and any(column == bound.at + 1 for column, _ in raw.faults):
            return None
        text = raw.cells[bound.at].strip() if bound.at < len(raw.cells) else ""
        found = self._cells.get((id(bound.target), text), _NEW)
        return self._understood(bound.target, text) if found is _NEW else found

    def _understood(self, target: Target, text: str) -> Cell | None:
        blank = not text or (len(text) <= self._longest_blank and fold(text) in self.layout.blank_cells)
        meant = target.blank if blank else text
        cell = read_cell(self.layout, target, meant) if meant else None
        if blank or (target.field.kind != "words" and not target.field.identity and len(text) < 100):
            if len(self._cells) > _CACHE:
                self._cells.clear()
            self._cells[id(target), text] = cell
        return cell

    def put_cell(self, record: Record, bound: Bound, raw: Raw, ears: tuple[str, ...], again: int = 0) -> None:
        """Puts what a cell says into the record. `ears`: those of the row, in sheets with one row per ear;
        `again`: how many methods of work came before on that ear."""
        if (cell := self.said(bound, raw)) is not None:
            self.put(record, bound, cell, raw, ears, again)

    def put(self, record: Record, bound: Bound, cell: Cell, raw: Raw, ears: tuple[str, ...], again: int) -> None:
        field, spot = bound.target.field, (raw.number, bound.at + 1)
        sided = field.scope == "ear"
        fixed = (field.scope,) if field.scope in EARS else ("",)
        told_apart = sided and self.layout.rows == "ear"
        astray = [n for n in cell.notes if set(n.ears) - set(ears)] if told_apart else []
        for fault in cell.faults:
            if not (astray and fault.rule in ("R138", "R164")):  # it is not kept as a note
                record.fault(fault, f"{ears[0]}.{field.path}" if sided and ears else field.path, spot)
        if id(bound.target) in self._waits:
            told = f"{bound.heading}: {self._text(raw, bound.at)}"
            for ear in ears or fixed:
                self._waiting += [Waiting(ear, (*field.steps[1:], *p.inner), p.value, spot, told) for p in cell.puts]
            return
        for put in cell.puts:
            named = self._sides(record, bound, put.ears, ears, spot) if sided else fixed
            for ear in named:
                self._put(record, bound, put, ear, spot, again)
        for note in cell.notes:
            if note in astray:
                record.fault(Fault("R115", "The text names another ear than its row.", "side"), field.pattern, spot)
                continue
            named = (note.ears or ears or ("",)) if sided else fixed
            text = note.text if field.scope == "visit" and field.pattern == "note" else f"{bound.heading}: {note.text}"
            for ear in named:
                record.note(_moved(full_steps(field, ear), again) if ear or not sided else (), text, spot)

    def _put(self, record: Record, bound: Bound, put: Put, ear: str, spot: tuple[int, int], again: int) -> None:
        if put.other:
            record.put(((put.other, None),), put.value, spot)
            return
        key = (id(bound.target), ear, put.inner, put.beside, again)
        if (found := self._ways.get(key)) is None:
            own = full_steps(bound.target.field, ear)
            own = (*own[:-1], (put.beside, None)) if put.beside else own
            whole = _moved((*own, *put.inner), again)
            found = self._ways[key] = (whole, spell(whole))
        steps, path = found
        value = put.value
        if steps[-1] == ("note", None) and record.has(steps):
            value = f"{bound.heading}: {value}"
        record.put(steps, value, spot, item=put.item, path=path)

    def _sides(
        self, record: Record, bound: Bound, named: tuple[str, ...], ears: tuple[str, ...], spot: tuple[int, int]
    ) -> tuple[str, ...]:
        """The ears that an item is about: those of the row, or those the cell names. No side is an issue."""
        path = bound.target.field.pattern
        if self.layout.rows == "visit":
            if not named:
                record.fault(Fault("R114", "The cell does not say which ear it is about.", "no side"), path, spot)
            return named
        if named and set(named) != set(ears):
            record.fault(Fault("R113", "The cell names another ear than its row.", "side"), path, spot)
            return ()
        return ears

    def _constants(self, record: Record, raw: Raw) -> None:
        for target, cell in self._constant:
            scope = target.field.scope
            ears: tuple[str, ...] = EARS if scope == "ear" else ("",) if scope == "visit" else (scope,)
            for ear in ears:
                steps = full_steps(target.field, ear)
                # What holds for every visit is still no proof that this ear was looked at.
                if (not ear or record.has(steps[:-1])) and not record.has(steps):
                    for put in cell.puts:
                        record.put((*steps, *put.inner), put.value, (raw.number, 0), item=put.item)
                    for fault in cell.faults:
                        record.fault(fault, spell(steps), (raw.number, 0))


def _for_table(layout: Layout, table: Table) -> Layout:
    """The layout with what the table's own form makes certain: ISO dates, and where its day numbers begin."""
    if not table.typed:
        return layout
    own = {f.text for f in (*layout.dates, *layout.times)}
    dates = (*(date_format(d) for d in TYPED_DATES if d not in own), *layout.dates)
    times = (*layout.times, *(time_format(t) for t in TYPED_TIMES if t not in own))
    return replace(layout, dates=dates, times=times, serial=table.epoch if layout.serial else 0)


def _moved(steps: tuple[tuple[str, int | None], ...], again: int) -> tuple[tuple[str, int | None], ...]:
    """The steps with the index of work moved behind the methods that came before."""
    if not again:
        return steps
    return tuple((name, index + again if name == "work" and index is not None else index) for name, index in steps)
