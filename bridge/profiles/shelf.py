"""A shelf: one file of structures, profiles, value sets and code systems, read as it is asked for.

The first line is an index as JSON, every further line one blob as JSON:

    {"about": {...}, "size": bytes of all blobs, "packed": whether each blob is compressed by itself (zlib),
     "kinds": {"structures" | "profiles" | "value_sets" | "code_systems": {url: [[version, offset, length, status]]}}}

Offsets count from the end of the first line. Of several versions the one to prefer stands first.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable, Iterable, Iterator
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

from bridge.errors import MappingError
from bridge.profiles.versions import newness
from bridge.shapes import Json

KINDS = ("structures", "profiles", "value_sets", "code_systems")
Row = tuple[str, str, str, str, bytes]
"""Kind, url, version, status, blob."""


class DamagedError(MappingError):
    """The file is not, or no longer, what was written."""

    def __init__(self, message: str) -> None:
        advice = "Start again; if that does not help, install visit-bridge again."
        super().__init__(f"A table of definitions is damaged. {message}", advice)


class Shelf:
    """The blobs of one file, or of bytes that are laid out like one. Raises DamagedError for anything else.

    `mend` makes the shelf anew where a part of it turns out to be damaged.
    """

    def __init__(self, source: Path | bytes) -> None:
        self._source = source
        self._packed = False
        self._start = 0
        self.mend: Callable[[], Shelf] | None = None
        self._kept: dict[tuple[str, str, str], Json] = {}
        try:
            first, size = self._first_line()
            index = decode(first)
            self.about: Json = index["about"]
            self._packed = index.get("packed") is True
            self._kinds: dict[str, dict[str, list[list[Any]]]] = {kind: index["kinds"].get(kind, {}) for kind in KINDS}
            if size - len(first) != index["size"]:
                raise ValueError
        except (OSError, EOFError, zlib.error, ValueError, KeyError, TypeError, AttributeError) as error:
            raise DamagedError("This is no shelf.") from error

    def versions(self, kind: str, url: str) -> list[tuple[str, str]]:
        """Versions at hand with their status, the one to prefer first."""
        return [(row[0], row[3]) for row in self._kinds[kind].get(url, ())]

    def urls(self, kind: str) -> Iterable[str]:
        return self._kinds[kind].keys()

    def rows(self) -> Iterator[Row]:
        """Everything on the shelf as it was laid out, kind by kind."""
        for kind, found in self._kinds.items():
            for url, versions in found.items():
                for version, offset, length, status in versions:
                    yield kind, url, version, status, self._blob(offset, length)

    def get(self, kind: str, url: str, version: str) -> Json | None:
        """What is at hand under the address in exactly this version. Do not change what you get."""
        key = (kind, url, version)
        if key not in self._kept:
            row = next((row for row in self._kinds[kind].get(url, ()) if row[0] == version), None)
            if row is None:
                return None
            try:
                found = decode(self._blob(row[1], row[2]))
                if not isinstance(found, dict):
                    raise ValueError
            except (OSError, EOFError, zlib.error, ValueError, TypeError) as error:
                if self.mend is None:
                    raise DamagedError("A part of the file cannot be read.") from error
                self._become(self.mend())
                return self.get(kind, url, version)
            self._kept[key] = found
        return self._kept[key]

    def _become(self, other: Shelf) -> None:
        self._source, self._packed, self._start = other._source, other._packed, other._start
        self._kinds, self.about, self.mend = other._kinds, other.about, None

    def _first_line(self) -> tuple[bytes, int]:
        """The index, and the size of the whole."""
        if isinstance(self._source, bytes):
            first = self._source[: self._source.index(b"\n") + 1]
            size = len(self._source)
        else:
            with self._source.open("rb") as stream:
                first = stream.readline()
            size = self._source.stat().st_size
        self._start = len(first)
        return first, size

    def _blob(self, offset: int, length: int) -> bytes:
        start = self._start + offset
        if isinstance(self._source, bytes):
            blob = self._source[start : start + length]
        else:
            with self._source.open("rb") as stream:
                stream.seek(start)
                blob = stream.read(length)
        return zlib.decompress(blob) if self._packed else blob


def laid_out(about: Json, rows: Iterable[Row], *, packed: bool = False) -> bytes:
    """The bytes of a shelf. The same rows give the same bytes. `packed`: each blob is compressed."""
    kinds: dict[str, dict[str, list[list[Any]]]] = {}
    blobs, offset = [], 0
    for kind, url, version, status, plain in rows:
        blob = zlib.compress(plain, 9) if packed else plain
        kinds.setdefault(kind, {}).setdefault(url, []).append([version, offset, len(blob), status])
        blobs.append(blob)
        offset += len(blob) + 1
    for found in kinds.values():
        for versions in found.values():
            versions.sort(key=lambda row: newness(row[0], row[3]), reverse=True)
    index = {"about": _writable(about), "size": offset, "packed": packed, "kinds": kinds}
    return b"\n".join([encode(index), *blobs, b""])


def encode(data: Any) -> bytes:
    """JSON in one line; numbers with a point as they were written. Raises TypeError or ValueError for what is none."""
    import orjson

    return orjson.dumps(data, default=_written)


def decode(blob: bytes) -> Any:
    return _decoder()(blob)


@cache
def _decoder() -> Callable[[bytes], Any]:
    import msgspec

    return msgspec.json.Decoder(float_hook=Decimal).decode


def _writable(value: Any) -> Any:
    """The same without halves of signs, which names of files and hostile data may have."""
    if isinstance(value, str):
        return value.encode("utf-8", "replace").decode()
    if isinstance(value, dict):
        return {_writable(key): _writable(inner) for key, inner in value.items()}
    return [_writable(inner) for inner in value] if isinstance(value, list) else value


def _written(value: Any) -> Any:
    import orjson

    if isinstance(value, Decimal) and value.is_finite() and abs(value.adjusted()) < 400:
        return orjson.Fragment(f"{value:f}")
    raise TypeError
