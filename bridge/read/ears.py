"""Sheets with one row per ear: the rows of one visit brought together, and their ears told apart."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from bridge.ear_words import Ear
from bridge.hash_table import HashTable, short_hash
from bridge.layout.tables import fold
from bridge.phrases.tables import sides
from bridge.read.fault import Fault, cut
from bridge.read.record import Record
from bridge.read.rows import Raw
from bridge.read.sheet import Bound

if TYPE_CHECKING:
    from bridge.read.visits_table import SheetReader


def groups(rows: Callable[[], Iterator[Raw]], key: Callable[[Raw], str | None]) -> Iterator[Raw | list[Raw]]:
    """The rows of each visit together, and rows left alone one by one.

    Reads the sheet twice: first to learn which visits have rows that are not neighbours, as short hashes; only those
    are held back until their last row.
    """
    scattered = _scattered(rows, key)
    held: dict[int, list[Raw]] = {}
    current: list[Raw] = []
    last: int | None = None
    for raw in rows():
        text = key(raw)
        if text is None:
            yield raw
            continue
        hashed = short_hash(text)
        if hashed in scattered:
            group = held.setdefault(hashed, [])
            group.append(raw)
            scattered[hashed] -= 1
            if not scattered[hashed]:
                yield held.pop(hashed)
            continue
        if hashed != last and current:
            yield current
            current = []
        current.append(raw)
        last = hashed
    if current:
        yield current


def _scattered(rows: Callable[[], Iterator[Raw]], key: Callable[[Raw], str | None]) -> dict[int, int]:
    """Hashes of visits whose rows are not neighbours, with how many rows each has."""
    counts = HashTable()
    apart: set[int] = set()
    last: int | None = None
    for raw in rows():
        text = key(raw)
        if text is None:
            continue
        hashed = short_hash(text)
        before = counts.get(hashed)
        if before and hashed != last:
            apart.add(hashed)
        counts.set(hashed, before + 1)
        last = hashed
    return {hashed: counts.get(hashed) for hashed in apart}


def parse_ears(text: str) -> tuple[Ear, ...]:
    """The ears that a cell names by a word of the sides table; empty where it is none."""
    words = " ".join(text.split())
    for side in sides():
        if words == side.word or (not side.exact and words.casefold() == side.word):
            return side.ears
    return ()


def put_ear_rows(reader: SheetReader, record: Record, raws: list[Raw]) -> None:
    """Puts every row of one visit into the record; rows that disagree are issues."""
    side = next(b for b in reader.sheet.bound if b.target.field.kind == "side")
    agreed: dict[int, tuple[str, Raw]] = {}
    ears_seen: dict[str, list[Raw]] = {}
    for raw in raws:
        _visit_fields(reader, record, raw, agreed)
        ears = _row_ears(reader, record, side, raw)
        for ear in ears:
            _ear_fields(reader, record, raw, ear, ears_seen.setdefault(ear, []))
            ears_seen[ear].append(raw)


def _row_ears(reader: SheetReader, record: Record, side: Bound, raw: Raw) -> tuple[Ear, ...]:
    text = raw.cells[side.at].strip() if side.at < len(raw.cells) else ""
    meant = side.target.words.get(fold(text), text)
    ears = parse_ears(meant)
    if not ears:
        told = f"“{cut(text)}” names no ear." if text else "The row does not say which ear it is about."
        record.fault(Fault("R114", told, text or "blank"), "ear", (raw.number, side.at + 1))
    return ears


def _visit_fields(reader: SheetReader, record: Record, raw: Raw, agreed: dict[int, tuple[str, Raw]]) -> None:
    """What the rows of a visit have in common is put once; where two rows differ, both are named."""
    for index, bound in enumerate(reader.sheet.bound):
        field = bound.target.field
        if field.scope != "visit" or field.kind == "side":
            continue
        cell = reader.said(bound, raw)
        if cell is None:
            continue
        text = fold(raw.cells[bound.at]) if bound.at < len(raw.cells) else ""
        first = agreed.setdefault(index, (text, raw))
        if first[1] is raw:
            reader.put(record, bound, cell, raw, (), 0)
        elif text != first[0] and reader.said(bound, first[1]) != cell:
            told = f"Rows {first[1].number} and {raw.number} are of one visit and differ here."
            record.fault(Fault("R128", told, field.path), field.path, (raw.number, bound.at + 1), missing=False)


def _ear_fields(reader: SheetReader, record: Record, raw: Raw, ear: Ear, before: list[Raw]) -> None:
    """A further row of an ear says what was done next, may fill what was empty, and changes nothing."""
    bounds = [b for b in reader.sheet.bound if b.target.field.scope == "ear" or b.target.field.scope == ear]
    if not before:
        for bound in bounds:
            reader.put_cell(record, bound, raw, (ear,))
        return
    again = len(record.data.get(ear, {}).get("work", ()))
    work = [b for b in bounds if b.target.field.steps[:1] == (("work", 0),)]
    told = f"Rows {before[0].number} and {raw.number} are of one visit and one ear"
    if not any(reader.said(b, raw) for b in work):
        record.fault(Fault("R129", f"{told}, and the second says of no further work.", "ear"), ear, (raw.number, 0))
        return
    for bound in bounds:
        cell = reader.said(bound, raw)
        if bound in work:
            reader.put_cell(record, bound, raw, (ear,), again)
            continue
        earlier = [said for b in before if (said := reader.said(bound, b)) is not None]
        if cell is not None and not earlier:
            reader.put_cell(record, bound, raw, (ear,))
        elif cell is not None and cell not in earlier:
            record.fault(Fault("R129", f"{told} and differ here.", "ear"), f"{ear}.{bound.target.field.path}",
                         (raw.number, bound.at + 1), missing=False)  # fmt: skip
