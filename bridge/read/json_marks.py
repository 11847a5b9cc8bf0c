"""A visit in JSON, with the line and column of each field, in the shape that YAML visits have."""

from __future__ import annotations

import re
from typing import Any

from bridge.marked_yaml import Places
from bridge.read.json_stream import DECODER, MAX_DEPTH, JsonError

_SPACE = re.compile(r"[ \t\r\n]*")
_SCALAR = re.compile(r'[^\s,\]}"]+')


def load_marked_json(text: str, line: int, column: int) -> tuple[Any, Places]:
    """Plain data, every scalar as the text it is and null as None, and where each field stands. `text` is JSON in
    order; its first character stands at `line` and `column`. Raises JsonError for a key given twice and deep nesting.
    """
    reader = _Reader(text, line, column)
    return reader.value("", 0), reader.places


class _Reader:
    def __init__(self, text: str, line: int, column: int) -> None:
        self._text, self._at = text, 0
        self._line, self._start = line, 1 - column
        self._counted = 0
        self.places: Places = {}

    def _skip(self) -> str:
        found = _SPACE.match(self._text, self._at)
        self._at = found.end() if found else self._at
        return self._text[self._at]

    def _place(self) -> tuple[int, int]:
        lines = self._text.count("\n", self._counted, self._at)
        if lines:
            self._line += lines
            self._start = self._text.rfind("\n", self._counted, self._at) + 1
        self._counted = self._at
        return self._line, self._at - self._start + 1

    def _string(self) -> str:
        text, self._at = DECODER.raw_decode(self._text, self._at)
        return str(text)

    def value(self, path: str, depth: int) -> Any:
        first = self._skip()
        self.places.setdefault(path, self._place())
        if depth > MAX_DEPTH:
            raise JsonError("R150", f"The record is nested more than {MAX_DEPTH} deep.", *self._place(), last=False)
        if first == "{":
            return self._object(path, depth)
        if first == "[":
            return self._list(path, depth)
        if first == '"':
            return self._string()
        found = _SCALAR.match(self._text, self._at)
        text = found[0] if found else ""
        self._at += len(text)
        return None if text == "null" else text

    def _object(self, path: str, depth: int) -> dict[str, Any]:
        found: dict[str, Any] = {}
        self._at += 1
        while self._skip() != "}":
            at = self._place()
            key = self._string()
            if key in found:
                raise JsonError("R149", "A name is given twice in one object.", *at, last=False)
            self._skip()
            self._at += 1
            inner = f"{path}.{key}" if path else key
            self.places[inner] = at
            found[key] = self.value(inner, depth + 1)
            if self._skip() == ",":
                self._at += 1
        self._at += 1
        return found

    def _list(self, path: str, depth: int) -> list[Any]:
        found: list[Any] = []
        self._at += 1
        while self._skip() != "]":
            found.append(self.value(f"{path}[{len(found)}]", depth + 1))
            if self._skip() == ",":
                self._at += 1
        self._at += 1
        return found
