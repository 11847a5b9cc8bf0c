"""NDJSON: one resource on each line (application/fhir+ndjson), written from a bundle and read as one.

Source: https://hl7.org/fhir/R4/nd-json.html. A line stands alone, so its references say `Type/id`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Any

from bridge.enough import EnoughError, Told, enough
from bridge.fhir.forms import ID
from bridge.fhir.read_json import MAX_BYTES, read_json
from bridge.fhir.write_json import compact
from bridge.issues import Issue, Where, issue
from bridge.shapes import Json

NDJSON_TYPE = "application/fhir+ndjson"
MAX_LINES = 500_000
BASE = "https://ndjson.invalid/"
"""Where the lines stand while they are looked at together; never written anywhere."""
_ID = re.compile(ID)
_GOES_ON = re.compile(rb"\s*+(?:[^\n]*[^\n\s])?[{\[,:][ \t\r]*\n")
_ENTRY = re.compile(r"Bundle\.entry\[(\d+)\](?:\.resource|\.fullUrl)?")
_AROUND = frozenset({"B103"})
"""What is only said of entries, and a line is none."""


class Lines(Json):
    """The lines of a file as a collection."""

    numbers: tuple[int, ...] = ()
    """The line that each entry stands on."""


def dump_lines(bundle: Json) -> bytes:
    """Every resource of a bundle on a line of its own, in their order."""
    entries = bundle["entry"]
    names = {e["fullUrl"]: f"{e['resource']['resourceType']}/{e['resource']['id']}" for e in entries}
    return b"".join(compact(_renamed(e["resource"], names)) for e in entries)


def _renamed(node: Any, names: dict[str, str]) -> Any:
    if isinstance(node, dict):
        renamed = {k: _renamed(v, names) for k, v in node.items()}
        target = renamed.get("reference")
        return {**renamed, "reference": names.get(target, target)} if isinstance(target, str) else renamed
    return [_renamed(item, names) for item in node] if isinstance(node, list) else node


def read_received(content: bytes, file: str = "") -> tuple[Any, list[Issue]]:
    """The data of JSON, or the lines of NDJSON as a collection; and what is wrong with its writing."""
    if len(content) > MAX_BYTES or not (file.lower().endswith(".ndjson") or is_ndjson(content)):
        return read_json(content, file)
    return _read_lines(content, file)


def is_ndjson(content: bytes) -> bool:
    """Whether two lines are objects in braces, each from its first to its last sign.

    Looked for only where the first line does not go on in the next, as it does in JSON written over many lines.
    """
    if _GOES_ON.match(content):
        return False
    whole = (line for line in map(bytes.strip, content.split(b"\n")) if line[:1] == b"{" and line[-1:] == b"}")
    return next(whole, b"") != b"" and next(whole, b"") != b""


def _read_lines(content: bytes, file: str) -> tuple[Any, list[Issue]]:
    told = Told()
    read: list[tuple[int, Json]] = []
    lines = content.split(b"\n")
    if len(lines) > MAX_LINES:
        message = f"The file has {len(lines):,} lines; the limit is {MAX_LINES:,}."
        return None, [issue("S124", message, Where(file=file))]
    try:
        for number, data in _each(lines, file, told):
            read.append((number, data))
    except EnoughError as error:
        return None, told.whole(Where(file=file), str(error))
    found = told.whole(Where(file=file))
    if not read:
        return None, found or [issue("S128", "The file is empty.", Where(file=file))]
    bundle = Lines(resourceType="Bundle", type="collection")
    bundle["entry"] = [_entry(data) for _, data in read]
    bundle.numbers = tuple(number for number, _ in read)
    return bundle, [*found, *enough(_names(bundle, file), Where(file=file))]


def _each(lines: list[bytes], file: str, told: Told) -> Iterator[tuple[int, Json]]:
    """The number and data of each line that holds something new; what is wrong with its writing is told."""
    seen: set[bytes] = set()
    for number, line in enumerate(map(bytes.strip, lines), 1):
        if line and line not in seen:
            seen.add(line)
            data, issues = read_json(line, file)
            for one in issues:
                told.add(replace(one, where=replace(one.where, row=number, column=one.where.column or 1)))
            if data is not None:
                yield number, data


def _entry(resource: Json) -> Json:
    url = f"{BASE}{_name(resource)}"
    return {**({"fullUrl": url} if _name(resource) else {}), "resource": resource}


def _name(resource: Json) -> str:
    type, id = resource.get("resourceType"), resource.get("id")
    known = isinstance(type, str) and isinstance(id, str) and _ID.fullmatch(id)
    return f"{type}/{id}" if known else ""


def _names(bundle: Lines, file: str) -> Iterator[Issue]:
    """Lines that nothing can refer to, and lines that say different things of one resource."""
    first: dict[str, int] = {}
    for number, entry in zip(bundle.numbers, bundle["entry"], strict=True):
        name, where = _name(entry["resource"]), Where(file=file, row=number, column=1)
        if not name:
            yield issue("B133", "This resource has no id.", where, cause="B133")
        elif first.setdefault(name, number) != number:
            del entry["fullUrl"]
            yield issue("B132", f"The resource of line {first[name]} is told again, and differently.", where)


def at_line(data: Any, issues: Iterable[Issue]) -> Iterator[Issue]:
    """Issues of a bundle at the lines that it was made of; unchanged where it was made of none, or they know theirs."""
    for found in issues:
        ours = isinstance(data, Lines) and found.where.row is None
        entry = _ENTRY.match(found.where.path) if ours else None
        if entry is None:
            yield found
        elif found.rule not in _AROUND:
            number = int(entry[1])
            type = str(data["entry"][number]["resource"].get("resourceType", ""))[:60]
            path, said = (f"{type}{told[entry.end() :]}" for told in (found.where.path, found.where.expression))
            said = said if found.where.expression else ""
            where = replace(found.where, row=data.numbers[number], column=1, path=path, expression=said)
            yield replace(found, where=where)
