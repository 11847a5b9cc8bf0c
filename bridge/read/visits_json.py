"""Visits written as JSON in the visit model's own shape: one object, a list of them, or one on each line."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from zoneinfo import ZoneInfo

from bridge.issues import Where, issue
from bridge.read.json_marks import load_marked_json
from bridge.read.json_stream import JsonError, Piece, lines, open_json, pieces
from bridge.read.ledger import Ledger
from bridge.read.visits_yaml import made_visit
from bridge.shapes import Reading


def read_json_visits(path: Path, zone: ZoneInfo, ledger: Ledger) -> Iterator[Reading]:
    """One reading for each object. On separate lines, a broken one does not stop the next."""
    with open_json(path) as stream:
        for piece in lines(stream) if one_on_each_line(path) else pieces(stream):
            yield _reading(path.name, piece, zone, ledger)


def one_on_each_line(path: Path) -> bool:
    """Whether the first line of a file is a whole object and the next one begins another."""
    with open_json(path) as stream:
        if stream.read(4096).lstrip()[:1] == "[":
            return False
        stream.seek(0)
        found = lines(stream)
        first = next(found, None)
        if not isinstance(first, Piece) or not isinstance(first.data, dict):
            return isinstance(first, JsonError) and path.suffix.lower() in (".ndjson", ".jsonl")
        second = next(found, None)
        return second is not None


def _reading(file: str, piece: Piece | JsonError, zone: ZoneInfo, ledger: Ledger) -> Reading:
    if isinstance(piece, JsonError):
        return _fault(file, piece)
    where = Where(file, row=piece.line, column=piece.column)
    if not isinstance(piece.data, dict):
        return Reading(None, [issue("R148", "A visit is written as an object in braces.", where)], where=where)
    try:
        data, marks = load_marked_json(piece.text, piece.line, piece.column)
    except JsonError as fault:
        return _fault(file, fault)
    spots = {path: spot for path, spot in marks.items() if path}
    return made_visit(file, data, spots, piece.text.encode("utf-8", "surrogatepass"), where, zone, ledger)


def _fault(file: str, fault: JsonError) -> Reading:
    where = Where(file, row=fault.line, column=fault.column)
    rest = " What stands behind it was not read." if fault.last else ""
    return Reading(None, [issue(fault.rule, fault.message + rest, where)], where=where)
