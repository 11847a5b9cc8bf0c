"""Visits written as YAML: one document each, in the visit model's own shape."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from pydantic import BaseModel

from bridge.issues import Issue, Where, issue
from bridge.layout.fields import core, hints, kind_of
from bridge.marked_yaml import MAX_BYTES, MarkedYamlError, load_marked
from bridge.nothing_words import answer_of
from bridge.read.fault import CellError
from bridge.read.finish import finish
from bridge.read.ledger import Ledger
from bridge.read.moments import Time, moment
from bridge.read.places import Places
from bridge.read.source import open_binary
from bridge.shapes import Reading
from bridge.visit import Visit

_MARK = re.compile(rb"---(\s|$)")
_LISTS = {"requests": "request", "allergies": "allergies", "medicines": "medicines"}
"""Fields that a word for nothing may fill as it stands, and their name in the table of such words."""
_LOCAL = re.compile(r"(\d{4}-\d\d-\d\d)[T ](\d\d:\d\d(?::\d\d)?)")


@dataclass(frozen=True, slots=True)
class Part:
    """One YAML document: its own bytes, and the line before its first. None: longer than a visit can be."""

    content: bytes | None
    line: int


def documents(path: Path) -> Iterator[Part]:
    """The documents of a file, split at lines of `---`; blank ones and comments alone are passed over."""
    with open_binary(path) as stream:
        lines: list[bytes] = []
        size, start = 0, 0
        for number, line in enumerate(iter(lambda: stream.readline(MAX_BYTES), b""), 1):
            if _MARK.match(line):
                yield from _part(lines, size, start)
                rest = line[3:].strip()
                lines = [b"   " + line[3:]] if rest and not rest.startswith(b"#") else []
                size, start = len(line), number - bool(lines)
                continue
            size += len(line)
            if size <= MAX_BYTES:
                lines.append(line)
        yield from _part(lines, size, start)


def _part(lines: list[bytes], size: int, start: int) -> Iterator[Part]:
    if size > MAX_BYTES:
        yield Part(None, start)
    elif any(s and not s.startswith((b"#", b"%", b"...")) for s in (x.strip(b"\xef\xbb\xbf \t\r\n") for x in lines)):
        yield Part(b"".join(lines), start)


def read_yaml_visits(path: Path, zone: ZoneInfo, ledger: Ledger) -> Iterator[Reading]:
    """One reading for each document. A document that is broken does not stop the next."""
    for part in documents(path):
        yield _visit(path.name, part, zone, ledger)


def _visit(file: str, part: Part, zone: ZoneInfo, ledger: Ledger) -> Reading:
    where = Where(file, row=part.line + 1, column=1)
    if part.content is None:
        told = f"The record is larger than {MAX_BYTES // 1_000_000} MB."
        return Reading(None, [issue("R123", told, where)], where=where)
    try:
        data, marks = load_marked(part.content)
    except MarkedYamlError as error:
        at = Where(file, row=part.line + (error.line or 1), column=error.column)
        return Reading(None, [issue("R130", f"The record {error.message}.{_tabs(part, error.line)}", at)], where=where)
    if not isinstance(data, dict):
        return Reading(None, [issue("R130", "The record is not a list of “name: value” lines.", where)], where=where)
    spots = {p: (part.line + line, column) for p, (line, column) in marks.items() if p}
    return made_visit(file, data, spots, part.content, where, zone, ledger)


def made_visit(
    file: str,
    data: dict[str, Any],
    spots: dict[str, tuple[int, int]],
    content: bytes,
    where: Where,
    zone: ZoneInfo,
    ledger: Ledger,
) -> Reading:
    """The reading of one record in the model's own shape: every scalar is text, `spots` its lines and columns."""
    places = Places(lambda line, column: Where(file, row=line, column=column))
    places.spots.update(spots)
    issues: list[Issue] = []
    failed: set[str] = set()
    typed = _Typed(zone, places, issues, failed).mapping(data, Visit, "")
    typed["source_sha256"] = sha256(content).hexdigest()
    return finish(typed, issues, places, where, failed, ledger)


def _tabs(part: Part, line: int | None) -> str:
    lines = (part.content or b"").splitlines()
    near = lines[line - 1] if line and line <= len(lines) else b""
    blank = near[: len(near) - len(near.lstrip())]
    return " The line begins with a tab; YAML wants blanks there." if b"\t" in blank else ""


@dataclass(slots=True)
class _Typed:
    """Text scalars made into what their field takes, where the model does not do it of its own accord: a local
    time gets the practice's zone, a choice of numbers its number. Fields without a value are taken out."""

    zone: ZoneInfo
    places: Places
    issues: list[Issue]
    failed: set[str]

    def mapping(self, data: dict[str, Any], model: type[BaseModel], path: str) -> dict[str, Any]:
        types = hints(model)
        found = {}
        for name, value in data.items():
            inner = f"{path}.{name}" if path else name
            if value is None:
                continue
            found[name] = self.value(value, types[name], name, inner) if name in types else value
        return {k: v for k, v in found.items() if v is not None}

    def value(self, value: Any, annotation: Any, name: str, path: str) -> Any:
        inner, _ = core(annotation)
        if isinstance(value, list):
            return [self.value(v, inner, name, f"{path}[{i}]") for i, v in enumerate(value) if v is not None]
        if isinstance(value, dict):
            is_model = isinstance(inner, type) and issubclass(inner, BaseModel)
            return self.mapping(value, inner, path) if is_model else value
        if path in _LISTS and (answer := answer_of(_LISTS[path], value)) and (answer != value or path == "requests"):
            return [value]  # what the word means is decided where that of every record is
        kind, choices = kind_of(inner, name)
        if kind == "when" and (found := _LOCAL.fullmatch(value.strip())):
            return self._moment(found[1], found[2], path)
        if kind == "whole" and choices and value in choices:
            return int(value)
        return value

    def _moment(self, day: str, time: str, path: str) -> str | None:
        try:
            return moment(day, Time(time), self.zone)
        except CellError as error:
            fault = error.fault
        except ValueError:
            return f"{day}T{time}Z"  # refused by the model, which says which part of it does not exist
        self.failed.add(path)
        self.issues.append(issue(fault.rule, fault.message, self.places.get(path, Where(path=path)), cause=fault.cause))
        return None
