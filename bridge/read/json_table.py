"""Flat records in JSON as a table: keys are headings, and what is nested is brought to one level."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any

from bridge.errors import InputError
from bridge.issues import Issue
from bridge.read.fault import Fault, cut
from bridge.read.json_stream import MAX_DEPTH, Doubled, JsonError, Piece, Refused, lines, list_keys, open_json, pieces
from bridge.read.rows import Raw, Span
from bridge.read.visits_json import one_on_each_line

MAX_NAMES = 2_000


class JsonTable:
    """A list of objects. Its rows are numbered as the objects come, or by their lines where each has its own."""

    typed = True
    hidden = False
    epoch = 1900

    def __init__(self, path: Path, key: str, alone: bool) -> None:
        self.file, self.title, self.sheet = path.name, key, "" if alone else key
        self.issues: list[Issue] = []
        self._path, self._key = path, key
        found = path.stat()
        self.names: list[str] | None = list(_names(path, key, found.st_mtime_ns, found.st_size))

    def spans(self) -> Sequence[Span]:
        return ()

    def rows(self) -> Iterator[Raw]:
        """One row for each object, its cells under `names`."""
        at = {name: index for index, name in enumerate(self.names or ())}
        for number, piece in _numbered(self._path, self._key):
            if isinstance(piece, JsonError):
                rest = " What stands behind it was not read." if piece.last else ""
                told = f"Line {piece.line}, column {piece.column}: {piece.message}{rest}"
                yield Raw(number, [], faults=((0, Fault(piece.rule, told, piece.rule)),))
            elif not isinstance(piece.data, dict):
                yield Raw(number, [], faults=((0, Fault("R148", "A record is written as an object in braces.")),))
            else:
                yield _row(number, piece.data, at)


def open_json_tables(path: Path, kind: str) -> list[JsonTable]:
    """The lists of objects in a file. Raises InputError where there is none."""
    with open_json(path) as stream:
        first = stream.read(4096).lstrip()[:1]
    keys = [""] if first == "[" or kind == "object" or one_on_each_line(path) else list_keys(path)
    tables = [JsonTable(path, key, len(keys) == 1) for key in keys]
    if not any(table.names for table in tables):
        raise InputError(
            f"{path.name} holds no records.", "Records in JSON are a list of objects, or one object on each line."
        )
    return tables


def _numbered(path: Path, key: str) -> Iterator[tuple[int, Piece | JsonError]]:
    with open_json(path) as stream:
        if not key and one_on_each_line(path):
            for piece in lines(stream):
                yield piece.line, piece
        else:
            yield from enumerate(pieces(stream, key), 1)


@lru_cache(8)
def _names(path: Path, key: str, changed: int, size: int) -> tuple[str, ...]:
    """Every name that a record has, in the order in which they come up."""
    found: dict[str, None] = {}
    for _, piece in _numbered(path, key):
        if isinstance(piece, JsonError) and piece.last and not found:
            told = f"{path.name}, line {piece.line}, column {piece.column}: {piece.message}"
            raise InputError(told, "Make the file anew in the program that it comes from.")
        if isinstance(piece, Piece) and isinstance(piece.data, dict):
            cells: dict[str, str] = {}
            _flatten(piece.data, "", 0, cells, [])
            found.update(dict.fromkeys(cells))
        if len(found) > MAX_NAMES:
            raise InputError(
                f"The records in {path.name} have more than {MAX_NAMES:,} names between them.",
                "Records are a list of objects with the same names in each.",
            )
    return tuple(found)


def _row(number: int, data: dict[str, Any], at: dict[str, int]) -> Raw:
    cells: dict[str, str] = {}
    faults: list[tuple[str, Fault]] = []
    _flatten(data, "", 0, cells, faults)
    row = [""] * len(at)
    for name, text in cells.items():
        row[at[name]] = text
    return Raw(number, row, faults=tuple((at.get(name, -1) + 1, fault) for name, fault in faults))


def _flatten(value: Any, name: str, depth: int, cells: dict[str, str], faults: list[tuple[str, Fault]]) -> None:
    """Puts a value's text under its name; names inside an object are joined to its own."""
    if depth > MAX_DEPTH:
        faults.append(("", Fault("R150", f"The record is nested more than {MAX_DEPTH} deep.", "deep")))
    elif isinstance(value, dict):
        if isinstance(value, Doubled):
            faults.append(
                ("", Fault("R149", f"The name “{cut(value.doubled)}” is given twice in one object.", "twice"))
            )
        for key, inner in value.items():
            own = " ".join(str(key).split())
            _flatten(inner, f"{name} / {own}" if name else own, depth + 1, cells, faults)
    elif isinstance(value, list):
        if any(isinstance(v, (dict, list)) for v in value):
            told = "A list of objects or of lists is no cell."
            faults.append((name, Fault("R150", told, "list")))
            cells[name] = ""
        else:
            cells[name] = "\n".join(t for v in value if (t := _text(v)))
    else:
        if isinstance(value, Refused):
            faults.append((name, Fault("R150", "This is no number that can be meant.", "number")))
        cells[name] = _text(value)


def _text(value: Any) -> str:
    if value is None:
        return ""
    return ("yes" if value else "no") if isinstance(value, bool) else str(value)
