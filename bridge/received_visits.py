"""The corridor from visits that arrived to visit files and rows, each read again before it is handed out."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import chain
from pathlib import Path
from typing import Literal
from zoneinfo import ZoneInfo

from bridge.issues import Issue, Where, issue
from bridge.layout import Layout
from bridge.layout.formats import date_format, time_format
from bridge.marked_yaml import load_marked
from bridge.read.ledger import Ledger
from bridge.read.rows import Raw, Span
from bridge.read.visits import read_visits
from bridge.read.visits_table import TYPED_DATES, TYPED_TIMES, SheetReader
from bridge.read.visits_yaml import made_visit
from bridge.receive.rows import RowDraft, alike, csv_bytes, lost, row_drafts, said_otherwise, to_blame, xlsx_bytes
from bridge.safe_write import write_bytes
from bridge.same_clinic import of_another
from bridge.shapes import Reading
from bridge.visit import Clinic, Visit
from bridge.visit_file import visit_file

NOTES = (
    "Made by visit-bridge from a document that was received. It holds what the document held,",
    "which may be less than the record that the document was made from.",
)
_ROUNDS = 40
"""Each round takes one text away; a row has fewer columns that can be at odds than this."""
_TOLD = 200
"""Fields that are told one by one; the rest is counted."""
_AT_ONCE = 500

Coded = Callable[[Visit], Visit]
Form = Literal["csv", "xlsx"]


def visit_content(visit: Visit) -> tuple[bytes | None, list[Issue]]:
    """The visit's file; X111 and none where the file, read again, would not give the same visit."""
    content = visit_file(visit, NOTES)
    if _read_again(content) == visit.model_copy(update={"source_sha256": None}):
        return content, []
    return None, [issue("X111", "This visit cannot be kept in a file.", Where(record=visit.number), cause="X111")]


def _read_again(content: bytes) -> Visit | None:
    plain, places = load_marked(content)
    reading = made_visit("", plain, places, content, Where(), ZoneInfo("UTC"), Ledger())
    return reading.visit and reading.visit.model_copy(update={"source_sha256": None})


@dataclass(slots=True)
class Rows:
    """A file of rows and what it holds."""

    content: bytes = b""
    """Empty where no visit can stand in rows of the layout."""
    held: int = 0
    """Visits in it."""
    left_out: int = 0
    """Visits that stand in no row."""
    issues: list[Issue] = field(default_factory=list)


def told_whose(visits: Sequence[Visit], layout: Layout, own: Clinic) -> tuple[list[Visit], list[Issue]]:
    """The visits whose rows would say whose they are; X181 for another clinic's where no column can."""
    if layout.fills("clinic.name"):
        return list(visits), []
    others = [visit for visit in visits if of_another(visit.clinic, own)]
    message = f"“{layout.name}” has no column for the clinic, so that another one's visit would be read as yours."
    told = [issue("X181", message, Where(record=visit.number), cause="X181:clinic") for visit in others]
    return [visit for visit in visits if not of_another(visit.clinic, own)], told


def visit_rows(visits: Sequence[Visit], layout: Layout, zone: ZoneInfo, form: Form, coded: Coded) -> Rows:
    """Visits as a file of the layout, read back and compared; every number and version at most once among them.

    `coded` as for `to_blame`. X180 for fields that no column holds, X181 for visits that no row can hold, X182 and no
    content where the file is read otherwise than it was meant.
    """
    told = Rows()
    rows: list[list[str]] = []
    expected: list[Visit] = []
    fields: dict[str, list[str]] = {}
    for start in range(0, len(visits), _AT_ONCE):
        batch = visits[start : start + _AT_ONCE]
        for visit, drafts, read, astray in _tried(batch, layout, zone, form, coded):
            if read is None:
                told.left_out += 1
                told.issues.append(_no_row(visit, layout, astray))
                continue
            rows += [draft.cells for draft in drafts]
            expected.append(read)
            for path in dict.fromkeys(alike(path) for path in lost(read, visit)):
                fields.setdefault(path, []).append(visit.number)
    told.issues += _not_held(fields, layout)
    told.held = len(expected)
    if expected:
        content = (csv_bytes if form == "csv" else xlsx_bytes)(layout, rows)
        if _comes_back(content, form, layout, zone, expected):
            told.content = content
        else:
            message = f"The rows in “{layout.name}” would be read otherwise than they are meant."
            told.issues.append(issue("X182", message, cause="X182"))
    return told


def _tried(
    visits: Sequence[Visit], layout: Layout, zone: ZoneInfo, form: Form, coded: Coded
) -> Iterator[tuple[Visit, list[RowDraft], Visit | None, list[str]]]:
    """Each visit with rows that are read as it is meant, as far as they go, and what is read; or why there is none."""
    drafts = [row_drafts(_as_written(layout, form), visit, zone) for visit in visits]
    done: dict[int, tuple[Visit | None, list[str]]] = {}
    for _ in range(_ROUNDS):
        waiting = [at for at in range(len(visits)) if at not in done]
        if not waiting:
            break
        readings = _read(layout, zone, form, [drafts[at] for at in waiting])
        for at, (first, reading) in zip(waiting, readings, strict=True):
            blamed, astray = to_blame(reading, visits[at], drafts[at], first, coded)
            for row, column in blamed:
                drafts[at][row].next(column)
            if astray:
                done[at] = None, astray
            elif not blamed:
                done[at] = reading.visit, []
    for at, visit in enumerate(visits):
        read, astray = done.get(at, (None, ["the record as a whole"]))
        yield visit, drafts[at], read, astray


def _as_written(layout: Layout, form: Form) -> Layout:
    """The layout with what is understood in every workbook: ISO dates and plain times, after its own."""
    if form == "csv":
        return layout
    own = {way.text for way in (*layout.dates, *layout.times)}
    dates = tuple(date_format(text) for text in TYPED_DATES if text not in own)
    times = tuple(time_format(text) for text in TYPED_TIMES if text not in own)
    return replace(layout, dates=(*layout.dates, *dates), times=(*layout.times, *times), serial=0)


def _read(layout: Layout, zone: ZoneInfo, form: Form, visits: list[list[RowDraft]]) -> list[tuple[int, Reading]]:
    """What is read of the rows of each visit, with the number of its first row."""
    starts, at = list[int](), 1
    for drafts in visits:
        starts.append(at)
        at += len(drafts)
    table = _InMemory(layout, form, [draft.cells for draft in chain.from_iterable(visits)])
    found: dict[int, Reading] = {}
    for reading in SheetReader(table, layout, zone, _Quiet()).readings():
        if reading.left_alone != "headings" and reading.where.row:
            found.setdefault(reading.where.row, reading)
    nothing = Reading(None, [])
    return [(first, found.get(first, nothing)) for first in starts]


class _InMemory:
    """Rows that are no file yet."""

    file = sheet = title = ""
    hidden = False
    epoch = 1900

    def __init__(self, layout: Layout, form: Form, cells: list[list[str]]) -> None:
        self.typed = form == "xlsx"
        self.names: list[str] | None = [column.heading for column in layout.columns]
        self.issues: list[Issue] = []
        self._cells = cells

    def rows(self) -> Iterator[Raw]:
        return (Raw(number, cells) for number, cells in enumerate(self._cells, 1))

    def spans(self) -> Sequence[Span]:
        return ()


class _Quiet(Ledger):
    """Whether visits contradict each other is not asked here."""

    def repeats(self, visit: Visit, where: Where) -> bool:
        return False

    def enter(self, visit: Visit, where: Where, *, made: bool = False, said: str = "") -> list[Issue]:
        return []


def _no_row(visit: Visit, layout: Layout, astray: list[str]) -> Issue:
    named = ", ".join(dict.fromkeys(alike(path) for path in astray[:3]))
    message = f"No row of “{layout.name}” can hold this visit: {named} would be read otherwise."
    return issue("X181", message, Where(record=visit.number), cause=f"X181:{named}")


def _not_held(fields: dict[str, list[str]], layout: Layout) -> Iterator[Issue]:
    """X180 for each field, with the first visit that has it; sorted, as they may be many."""
    for path, numbers in sorted(fields.items())[:_TOLD]:
        message = (
            f"This field is not, or not wholly, in columns of “{layout.name}”; visits that have it: {len(numbers)}."
        )
        yield issue("X180", message, Where(path=path, record=numbers[0]), cause=f"X180:{len(numbers)}")
    if len(fields) > _TOLD:
        message = f"{len(fields) - _TOLD} more fields are not, or not wholly, in columns of “{layout.name}”."
        yield issue("X180", message, cause="X180")


def _comes_back(content: bytes, form: str, layout: Layout, zone: ZoneInfo, expected: list[Visit]) -> bool:
    """Whether the file, read as any other, gives the visits that are meant."""
    with tempfile.TemporaryDirectory(prefix="visit-bridge-") as folder:  # only its owner can open it
        path = Path(folder, f"rows.{form}")
        write_bytes(path, content, private=True)
        found = [r.visit for r in read_visits(path, layout, zone, _Quiet()) if r.left_alone != "headings"]
    return len(found) == len(expected) and all(
        visit is not None and not said_otherwise(visit, meant) and not lost(visit, meant)
        for visit, meant in zip(found, expected, strict=True)
    )
