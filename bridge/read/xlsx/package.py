"""The packed file that a workbook is: its parts as streams, with limits against files made to do harm."""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO
from zipfile import BadZipFile, ZipFile, ZipInfo

from bridge.errors import InputError
from bridge.read.source import open_binary

MAX_PARTS = 10_000
MAX_PART_BYTES = 4_000_000_000
MAX_RATIO = 250
"""Times that a part may grow when unpacked, beyond its first bytes."""
FREE_BYTES = 30_000_000
_BROKEN = (BadZipFile, zlib.error, EOFError, OSError, NotImplementedError, RuntimeError, ValueError)


class Part:
    """A part being unpacked, counted as it goes."""

    def __init__(self, stream: IO[bytes], info: ZipInfo, file: str) -> None:
        self._stream, self._file = stream, file
        self._most = min(MAX_PART_BYTES, max(FREE_BYTES, info.compress_size * MAX_RATIO))
        self.size = 0

    def read(self, size: int = -1) -> bytes:
        """The next bytes. Raises InputError for a damaged part, and for one that is far larger than it says."""
        try:
            content = self._stream.read(size if size >= 0 else self._most + 1)
        except _BROKEN:
            raise damaged(self._file) from None
        self.size += len(content)
        if self.size > self._most:
            raise InputError(
                f"{self._file} unpacks to far more than a workbook of records holds.",
                "If it is yours, copy the rows that you need into a new workbook and read that.",
            )
        return content


class Package:
    """The parts of a workbook by name. Nothing is ever unpacked onto the disk."""

    def __init__(self, path: Path) -> None:
        self.path, self.file = path, path.name
        with self._zip() as packed:
            infos = packed.infolist()
            self.names = frozenset(i.filename for i in infos)
            if len(infos) > MAX_PARTS or len(self.names) < len(infos):
                raise damaged(self.file)
            if any(i.flag_bits & 1 for i in infos):
                raise InputError(
                    f"{self.file} is packed with a password.", "Save it without a password and read that file."
                )

    @contextmanager
    def _zip(self) -> Iterator[ZipFile]:
        with open_binary(self.path) as stream:
            try:
                packed = ZipFile(stream)
            except _BROKEN:
                raise damaged(self.file) from None
            with packed:
                yield packed

    @contextmanager
    def open(self, name: str) -> Iterator[Part]:
        """One part as a stream of bytes. Raises InputError where the package lacks it."""
        with self._zip() as packed:
            try:
                info = packed.getinfo(name)
                stream = packed.open(info)
            except (KeyError, *_BROKEN):
                raise damaged(self.file) from None
            with stream:
                yield Part(stream, info, self.file)


def damaged(file: str) -> InputError:
    """What is said of a workbook whose inside is not in order."""
    return InputError(
        f"{file} is a damaged workbook.",
        "Open it in the spreadsheet program, which may mend it, save it under a new name and read that file.",
    )
