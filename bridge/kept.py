"""Tables that are slow to read, kept in a form that is quick to read, in the user's cache folder.

A file there is named by the SHA-256 of what the table holds and of our version, so that a changed table is read anew. A
folder that cannot be used costs time and nothing else; what is damaged there is made anew.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from datetime import date
from hashlib import sha256
from pathlib import Path
from typing import Any

from bridge import __version__
from bridge.cache_folder import cache_folder

KEPT_FOR = 90 * 24 * 3600
"""Seconds after which a file is thrown away when another one is written."""
_FORM = "1"
_Path = list[str | int]


def kept(kind: str, content: bytes, make: Callable[[], Any]) -> Any:
    """What `make` makes of the content of a table: plain data and days. `kind` tells ways of reading apart.

    What cannot be kept as it is, is made each time.
    """
    import orjson

    file = _file(kind, content)
    if file is None:
        return make()
    with suppress(OSError, ValueError, KeyError, TypeError, IndexError):
        found = orjson.loads(file.read_bytes())
        for path, day in found["days"]:
            _put(found["data"], path, date.fromisoformat(day))
        return found["data"]
    made = make()
    with suppress(OSError, TypeError):
        days = [(path, day.isoformat()) for path, day in _days(made, [])]
        _write(file, orjson.dumps({"days": days, "data": made}))
    return made


def _file(kind: str, content: bytes) -> Path | None:
    """Where a table is kept; None where nobody's home is known."""
    digest = sha256(f"{kind} {_FORM} {__version__}\0".encode())
    digest.update(content)
    with suppress(RuntimeError):
        return cache_folder() / "tables" / f"{digest.hexdigest()}.json"
    return None


def _days(value: Any, path: _Path) -> Iterator[tuple[_Path, date]]:
    if type(value) is date:
        yield path, value
    elif isinstance(value, dict):
        for key, inner in value.items():
            yield from _days(inner, [*path, key])
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from _days(inner, [*path, index])


def _put(data: Any, path: _Path, day: date) -> None:
    for step in path[:-1]:
        data = data[step]
    data[path[-1]] = day


def _write(file: Path, content: bytes) -> None:
    """Whole or not at all, and without waiting for the disk: what gets lost is made anew."""
    file.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    old = time.time() - KEPT_FOR
    for other in file.parent.iterdir():
        with suppress(OSError):
            if other.stat().st_mtime < old:
                other.unlink()
    beside = file.with_name(f".{os.urandom(16).hex()}.part")
    try:
        handle = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
        os.replace(beside, file)
    except BaseException:
        with suppress(OSError):
            beside.unlink()
        raise
