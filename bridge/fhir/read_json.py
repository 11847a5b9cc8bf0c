"""Reads received JSON: nothing is lost silently, and nothing hostile gets far.

Decimals stay as written (`Decimal`), a key given twice is noticed, size and depth are limited.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from bridge.fhir.json_slips import slip
from bridge.fhir.quick_json import quick_json
from bridge.issues import Issue, Where, issue

MAX_BYTES = 50_000_000
MAX_DEPTH = 100
"""Levels of objects and arrays; a document of ours has about twelve."""
MAX_DIGITS = 60
"""A number written with more than this is no measurement."""
MAX_TOLD = 1_000
"""Faults of writing after which no more are told; nobody reads them, and a hostile file could make millions."""
QUICK_FROM = 200_000
"""Bytes read by one process after which loading the quick reader has paid for itself."""

_BOMS = {b"\xff\xfe": "UTF-16", b"\xfe\xff": "UTF-16"}
_read = {"bytes": 0}
_EXPONENT = re.compile(r"[eE][+-]?0*(\d+)$")


class _RefusedError(ValueError):
    pass


class _Doubled(dict[str, Any]):
    """An object in which keys were given more than once; the last value of each is kept."""

    doubled: tuple[str, ...] = ()


def read_json(content: bytes, file: str = "", *, max_bytes: int = MAX_BYTES) -> tuple[Any, list[Issue]]:
    """The data and what is wrong with its writing; the data is None where it cannot be read at all.

    Objects become dict, arrays list, whole numbers int, other numbers Decimal. Where the outermost
    value is not an object, an issue says so and None is returned.
    """
    _read["bytes"] += len(content)
    if _read["bytes"] > QUICK_FROM and len(content) <= max_bytes:
        data = quick_json(content, MAX_DEPTH)
        if data is not None:
            return data, []
    return read_carefully(content, file, max_bytes=max_bytes)


def read_carefully(content: bytes, file: str = "", *, max_bytes: int = MAX_BYTES) -> tuple[Any, list[Issue]]:
    """The same by looking at everything: what `read_json` answers wherever there is something to tell."""
    text, found = _text(content, file, max_bytes)
    if text is None:
        return None, found
    try:
        data = json.loads(
            text, object_pairs_hook=_object, parse_int=_int, parse_float=_decimal, parse_constant=_constant
        )
    except json.JSONDecodeError as error:
        where = Where(file=file, row=error.lineno, column=error.colno)
        return None, [*found, issue("S122", f"This is not JSON: {slip(text, error)}.", where)]
    except _RefusedError as error:
        return None, [*found, issue("S127", f"{error}.", _first(text, file, number=_refused))]
    except RecursionError:
        return None, [*found, _too_deep(text, file)]
    if not isinstance(data, dict):
        where = _first(text, file, level=1)
        return None, [*found, issue("S126", "The file holds JSON, but not one object in braces.", where)]
    surrogates = "\\ud" in text or "\\uD" in text
    problems = _look(data, text, file, surrogates)
    found += problems
    return (None if any(p.rule == "S125" for p in problems) else data), found


def _text(content: bytes, file: str, max_bytes: int) -> tuple[str | None, list[Issue]]:
    where = Where(file=file)
    if len(content) > max_bytes:
        return None, [issue("S124", f"The file is larger than {max_bytes:,} bytes.", where)]
    if not content.strip():
        return None, [issue("S128", "The file is empty.", where)]
    found = []
    if content[:3] == b"\xef\xbb\xbf":
        content = content[3:]
        found.append(issue("S121", "The file starts with a byte order mark.", Where(file=file, row=1, column=1)))
    for bom, name in _BOMS.items():
        if content.startswith(bom):
            return None, [issue("S120", f"The file is written in {name}, not in UTF-8.", where)]
    try:
        text = content.decode("utf-8")
    except UnicodeDecodeError as error:
        before = content[: error.start]
        line, column = before.count(b"\n") + 1, error.start - before.rfind(b"\n")
        place = Where(file=file, row=line, column=column)
        return None, [*found, issue("S120", "There are bytes here that are not UTF-8.", place)]
    if (at := text.find("\0")) >= 0:
        line, column = text.count("\n", 0, at) + 1, at - text.rfind("\n", 0, at)
        message = "There is a NUL byte here, which JSON does not allow."
        return None, [*found, issue("S120", message, Where(file=file, row=line, column=column))]
    return text, found


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    plain = dict(pairs)
    if len(plain) == len(pairs):
        return plain
    counts = Counter(name for name, _ in pairs)
    marked = _Doubled(plain)
    marked.doubled = tuple(name for name in plain if counts[name] > 1)
    return marked


def _int(text: str) -> int | Decimal:
    return int(text) if len(text) <= 18 and text != "-0" else _decimal(text)


def _decimal(text: str) -> Decimal:
    exponent = _EXPONENT.search(text)
    if len(text) > MAX_DIGITS or (exponent and (len(exponent[1]) > 3 or int(exponent[1]) > 300)):
        raise _RefusedError("A number has more digits than can be meant")
    return Decimal(text)


def _constant(text: str) -> Any:
    raise _RefusedError(f"{text} is not a number in JSON")


def _refused(word: str) -> bool:
    try:
        json.loads(word, parse_int=_int, parse_float=_decimal, parse_constant=_constant)
    except _RefusedError:
        return True
    except ValueError:
        pass
    return False


def _first(text: str, file: str, **what: Any) -> Where:
    from bridge.fhir.positions_json import locate_first

    row, column = locate_first(text, **what) or (1, 1)
    return Where(file=file, row=row, column=column)


def _too_deep(text: str, file: str) -> Issue:
    where = _first(text, file, level=MAX_DEPTH + 1)
    return issue("S125", f"Objects and lists are nested more than {MAX_DEPTH} deep.", where)


def _look(data: dict[str, Any], text: str, file: str, surrogates: bool) -> list[Issue]:
    """Keys given twice, nesting, broken characters: found by one walk that does not recurse."""
    found: list[Issue] = []
    waiting: list[tuple[Any, str, int]] = [(data, _outermost(data), 1)]
    while waiting:
        node, path, depth = waiting.pop()
        if depth > MAX_DEPTH:
            return [*found, _too_deep(text, file)]
        if len(found) >= MAX_TOLD:
            surrogates = False
        elif isinstance(node, _Doubled):
            found += (
                issue("S123", f"“{key[:60]}” is given more than once.", Where(file=file, path=f"{path}.{key[:60]}"))
                for key in node.doubled[:MAX_TOLD]
            )
        keyed = isinstance(node, dict)
        inner: Iterable[tuple[Any, Any]] = node.items() if keyed else enumerate(node)
        for key, value in inner:
            if isinstance(value, dict | list):
                waiting.append((value, f"{path}.{key[:60]}" if keyed else f"{path}[{key}]", depth + 1))
            elif surrogates and _broken(value):
                place = f"{path}.{key[:60]}" if keyed else f"{path}[{key}]"
                found.append(issue("S129", "A text holds half a character.", Where(file=file, path=place)))
        if surrogates and keyed and any(map(_broken, node)):
            found.append(issue("S129", "A key holds half a character.", Where(file=file, path=path)))
    return sorted(found, key=lambda i: i.where.path)


def _outermost(data: dict[str, Any]) -> str:
    """What paths begin with: the kind of resource, where it could be one."""
    type = data.get("resourceType")
    return type if isinstance(type, str) and type.isalpha() and len(type) <= 60 else "$"


def _broken(value: Any) -> bool:
    if not isinstance(value, str) or value.isascii():
        return False
    return any("\ud800" <= c <= "\udfff" for c in value)
