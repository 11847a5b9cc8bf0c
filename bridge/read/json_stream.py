"""The objects of a JSON file one by one: of a list, of a list under a top-level key, or one after the other."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TextIO

from bridge.errors import InputError
from bridge.read.source import open_binary

MAX_RECORD = 2_000_000
"""Characters of one record; no visit has as many."""
MAX_DEPTH = 30
MAX_DIGITS = 60
_CHUNK = 1 << 16
_SPACE = " \t\r\n"


class JsonError(ValueError):
    """What is wrong with a record, and its place in the file."""

    def __init__(self, rule: str, message: str, line: int, column: int, *, last: bool = True) -> None:
        super().__init__(message)
        self.rule, self.message, self.line, self.column = rule, message, line, column
        self.last = last
        """Whether nothing behind it can be read."""


class Doubled(dict[str, Any]):
    """An object in which a key was given more than once."""

    doubled: str = ""


@dataclass(frozen=True, slots=True)
class Piece:
    """One value of the file: as data, numbers as written, and as text with its place."""

    data: Any
    text: str
    line: int
    column: int


class Refused(str):
    """A number that cannot be meant, as it is written."""

    __slots__ = ()


def _pairs(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) == len(pairs):
        return found
    seen: set[str] = set()
    marked = Doubled(found)
    marked.doubled = next(k for k, _ in pairs if k in seen or seen.add(k))  # type: ignore[func-returns-value]
    return marked


def _number(text: str) -> str:
    return text if len(text) <= MAX_DIGITS else Refused(text)


DECODER = json.JSONDecoder(object_pairs_hook=_pairs, parse_float=_number, parse_int=_number, parse_constant=Refused)


def open_json(path: Path) -> TextIO:
    """The file as text. A byte that is no text becomes U+FFFD, to be found in its cell."""
    import io

    stream = open_binary(path)
    head = stream.read(4)
    stream.seek(0)
    encoding = "utf-16" if head[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig"
    return io.TextIOWrapper(stream, encoding=encoding, errors="replace", newline="")


class Cursor:
    """A place in a stream of text, with a window that is read further when it has to."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream
        self._text, self._at, self._ended = "", 0, False
        self.line, self._line_start = 1, 0
        """`_line_start`: where the line began, counted from the window's beginning; may be negative."""

    @property
    def column(self) -> int:
        return self._at - self._line_start + 1

    def _more(self, size: int = _CHUNK) -> bool:
        if self._ended:
            return False
        content = self._stream.read(size)
        self._ended = not content
        self._text = self._text[self._at :] + content
        self._line_start -= self._at
        self._at = 0
        return not self._ended

    def _advance(self, end: int) -> None:
        lines = self._text.count("\n", self._at, end)
        if lines:
            self.line += lines
            self._line_start = self._text.rfind("\n", self._at, end) + 1
        self._at = end

    def peek(self) -> str:
        """The next character that is no blank; empty at the end."""
        while True:
            text, at = self._text, self._at
            while at < len(text) and text[at] in _SPACE:
                at += 1
            self._advance(at)
            if at < len(text):
                return text[at]
            if not self._more():
                return ""

    def take(self, character: str) -> bool:
        """Passes over a character, if it is the next."""
        if self.peek() != character:
            return False
        self._advance(self._at + 1)
        return True

    def value(self) -> Piece:
        """The next value whole. Raises JsonError."""
        self.peek()
        line, column = self.line, self.column
        wanted = _CHUNK
        while True:
            try:
                data, end = DECODER.raw_decode(self._text, self._at)
            except json.JSONDecodeError as error:
                if len(self._text) - self._at < MAX_RECORD and self._more(wanted):
                    wanted *= 2
                    continue
                raise self._fault(error, line, column) from None
            except RecursionError:
                raise JsonError("R150", "The record is nested far too deeply.", line, column) from None
            if end == len(self._text) and not isinstance(data, (dict, list)) and self._more():
                continue  # a number may go on
            piece = Piece(data, self._text[self._at : end], line, column)
            self._advance(end)
            return piece

    def _fault(self, error: json.JSONDecodeError, line: int, column: int) -> JsonError:
        if not self._ended:
            told = f"The record has more than {MAX_RECORD // 1_000_000} million characters."
            return JsonError("R123", told, line, column)
        before = self._text[self._at : error.pos]
        breaks = before.count("\n")
        column = error.pos - self._text.rfind("\n", self._at, error.pos) if breaks else column + len(before)
        return JsonError("R148", f"This is not JSON: {plain(error.msg)}.", line + breaks, column)


def plain(message: str) -> str:
    """The reader's own words, as a person says them."""
    return message.removesuffix(":").lower().replace("expecting", "expected")


def pieces(stream: TextIO, key: str = "") -> Iterator[Piece | JsonError]:
    """The values of a list (under a top-level key, where one is named), or one after the other; then what is wrong."""
    cursor = Cursor(stream)
    try:
        if key and not _enter(cursor, key):
            return
        if key or cursor.peek() == "[":
            yield from _list(cursor)
        else:
            while cursor.peek():
                yield cursor.value()
    except JsonError as fault:
        yield fault


def lines(stream: TextIO) -> Iterator[Piece | JsonError]:
    """The value of each line. A line that is broken does not stop the next."""
    number = 0
    while line := stream.readline(MAX_RECORD):
        number += 1
        if not line.strip():
            continue
        if len(line) == MAX_RECORD and not line.endswith("\n"):
            told = f"The record has more than {MAX_RECORD // 1_000_000} million characters."
            yield JsonError("R123", told, number, 1, last=False)
            while (rest := stream.readline(MAX_RECORD)) and not rest.endswith("\n"):
                pass
            continue
        yield _line(line, number)


def _line(line: str, number: int) -> Piece | JsonError:
    text = line.strip()
    column = len(line) - len(line.lstrip()) + 1
    try:
        data, end = DECODER.raw_decode(text)
    except json.JSONDecodeError as error:
        return JsonError("R148", f"This is not JSON: {plain(error.msg)}.", number, column + error.pos, last=False)
    except RecursionError:
        return JsonError("R150", "The record is nested far too deeply.", number, column, last=False)
    if text[end:].strip():
        return JsonError("R148", "There is more than one value in this line.", number, column + end, last=False)
    return Piece(data, text, number, column)


def _enter(cursor: Cursor, key: str) -> bool:
    """Goes to the list under a key of the outermost object."""
    if not cursor.take("{"):
        return False
    while cursor.peek() == '"':
        name = cursor.value().data
        if not cursor.take(":"):
            return False
        if name == key:
            return cursor.peek() == "["
        cursor.value()
        cursor.take(",")
    return False


def _list(cursor: Cursor) -> Iterator[Piece]:
    cursor.take("[")
    while not cursor.take("]"):
        if not cursor.peek():
            raise JsonError("R148", "The file ends before its list does.", cursor.line, cursor.column)
        yield cursor.value()
        if not cursor.take(",") and cursor.peek() not in ("]", ""):
            raise JsonError("R148", "A comma is missing between two records.", cursor.line, cursor.column)


def list_keys(path: Path) -> list[str]:
    """Keys of the outermost object under which lists of objects stand. Raises InputError where it is not in order."""
    found = []
    with open_json(path) as stream:
        cursor = Cursor(stream)
        cursor.take("{")
        try:
            while cursor.peek() == '"':
                name = str(cursor.value().data)
                cursor.take(":")
                if cursor.peek() == "[" and _objects(cursor):
                    found.append(name)
                elif cursor.peek() not in (",", "}"):
                    cursor.value()
                if not cursor.take(","):
                    break
        except JsonError as fault:
            if not found:
                told = f"{path.name}, line {fault.line}: {fault.message}"
                raise InputError(told, "Mend the file there, or make it anew.") from None
    return found


def _objects(cursor: Cursor) -> bool:
    """Passes over a list, and tells whether objects are in it."""
    return any([isinstance(piece.data, dict) for piece in _list(cursor)])  # noqa: C419 - all of it is passed over
