"""The files of a package that may hold definitions, name by name. Nothing is ever unpacked to disk.

What is there: a `.tgz` in the layout of FHIR packages (https://hl7.org/fhir/R5/packages.html and
https://confluence.hl7.org/display/FHIR/NPM+Package+Specification), the same unpacked, a folder, one file.
Links, devices and paths out of the package are passed over and counted; sizes, counts and the swelling are bounded.
"""

from __future__ import annotations

import gzip
import io
import os
import tarfile
import zlib
from collections.abc import Iterator
from pathlib import Path, PurePosixPath
from typing import IO, Self

from bridge.fhir.read_json import MAX_BYTES
from bridge.issues import Issue, Where, issue
from bridge.profiles.versions import cut

MOST_BYTES = 1_000_000_000
"""Bytes of all files of one package; the largest published one has some 800 MB."""
MOST_FILES = 100_000
MOST_LEVELS = 8
MOST_SWELLING = 150
"""Times that a packed file may swell; published ones swell about twentyfold."""
MOST_ENDS = 20
"""Times that the end is read; an entry that claims to be endless would be looked for beyond it for ever."""
LONGEST_HEAD = 20_000
MOST_HEADS = 5
"""Heads of one entry: its own, and those before it with long names and the like."""
MOST_IN_HEADS = 20_000_000
"""Bytes of those before, all in all; they cost more than what they describe."""
SWELLING_FROM = 20_000_000
_FOREIGN = frozenset({"example", "examples", "node_modules", "openapi", "other", "tests", "xml"})
"""Folders that hold no definitions to be used."""


class Files:
    """Goes through a package once. What is wrong with it stands in `issues` afterwards."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.issues: list[Issue] = []
        self._odd = 0
        self._bytes = 0
        self._count = 0

    def __iter__(self) -> Iterator[tuple[str, bytes]]:
        try:
            if self.path.is_dir():
                yield from self._of_folder()
            elif not self.path.is_file():
                self._tell("P150", f"{cut(self.path.name)} cannot be read: there is no such file or folder.")
            elif self.path.name.lower().endswith((".tgz", ".tar.gz")):
                yield from self._of_tar()
            else:
                yield self.path.name, self._bounded(self.path)
        except _TooMuchError as error:
            self._tell("P156", f"{cut(self.path.name)} holds more than is looked at: {error}.")
        except (OSError, ValueError) as error:
            why = error.strerror if isinstance(error, OSError) and error.strerror else "it is damaged"
            self._tell("P150", f"{cut(self.path.name)} cannot be read: {why}.")
        except (tarfile.TarError, EOFError, zlib.error):
            self._tell("P150", f"{cut(self.path.name)} cannot be read: it is no whole tar file packed with gzip.")
        if self._odd:
            self._tell("P157", f"{cut(self.path.name)} has {self._odd} entries that are no plain files in it.")

    def place(self, name: str) -> Where:
        """Where a file of the package is."""
        return Where(file=self.path.name if name in ("", self.path.name) else f"{self.path.name}/{name[-200:]}")

    def _tell(self, rule: str, words: str, name: str = "") -> None:
        self.issues.append(issue(rule, words, self.place(name)))

    def _of_folder(self) -> Iterator[tuple[str, bytes]]:
        root, inner = self.path, self.path / "package"
        for path in self._below(inner if (inner / "package.json").is_file() else root, MOST_LEVELS):
            yield path.relative_to(root).as_posix(), self._bounded(path)

    def _below(self, folder: Path, levels: int) -> Iterator[Path]:
        """Files of JSON and XML in their order, those of this folder first."""
        inner = []
        for entry in sorted(os.scandir(folder), key=lambda one: one.name):
            if entry.is_symlink():
                self._odd += 1
            elif entry.is_dir():
                inner.append(entry)
            elif entry.name.lower().endswith((".json", ".xml")) and not entry.name.startswith("."):
                if entry.is_file():
                    self._another()
                    yield Path(entry.path)
                else:
                    self._odd += 1
        for entry in inner if levels else ():
            if entry.name.lower() not in _FOREIGN and not entry.name.startswith("."):
                yield from self._below(Path(entry.path), levels - 1)

    def _of_tar(self) -> Iterator[tuple[str, bytes]]:
        with self.path.open("rb") as packed, gzip.GzipFile(fileobj=packed) as stream:
            bounded = _Bounded(stream, packed)
            with _Tar.open(fileobj=bounded, mode="r|", bufsize=65_536, tarinfo=_Header) as tar:
                while (member := tar.next()) is not None:
                    tar.forget(member)
                    self._another()
                    parts = PurePosixPath(member.name).parts
                    if member.isdir():
                        continue
                    if not member.isreg() or member.issparse() or ".." in parts or member.name.startswith("/"):
                        self._odd += 1
                    elif len(parts) == 2 and parts[0] == "package" and _may_be_one(parts[1]):
                        if member.size > MAX_BYTES:
                            self._tell("P156", f"A file is larger than {MAX_BYTES // 1_000_000} MB.", member.name)
                        elif (file := tar.extractfile(member)) is not None:
                            content = file.read(MAX_BYTES + 1)
                            if len(content) < member.size:
                                raise EOFError
                            yield member.name, content
        if not self._count:
            self._tell("P150", f"{cut(self.path.name)} is packed, but nothing is in it.")

    def _another(self) -> None:
        self._count += 1
        if self._count > MOST_FILES:
            raise _TooMuchError(f"more than {MOST_FILES:,} files")

    def _bounded(self, path: Path) -> bytes:
        with path.open("rb") as stream:
            content = stream.read(MAX_BYTES + 1)
        self._bytes += len(content)
        if self._bytes > MOST_BYTES:
            raise _TooMuchError(f"more than {MOST_BYTES // 1_000_000} MB")
        if len(content) > MAX_BYTES:
            self._tell("P156", f"A file is larger than {MAX_BYTES // 1_000_000} MB.", path.name)
            return b""
        return content


class _TooMuchError(Exception):
    pass


class _Bounded(io.RawIOBase):
    """Reads what a packed stream holds, as long as it is not more than anybody means."""

    def __init__(self, stream: gzip.GzipFile, packed: IO[bytes]) -> None:
        self._stream, self._packed, self._read, self._ends = stream, packed, 0, 0

    def read(self, size: int = -1, /) -> bytes:
        found = self._stream.read(size)
        self._read += len(found)
        self._ends += not found
        if self._ends > MOST_ENDS:
            raise EOFError
        if self._read > MOST_BYTES:
            raise _TooMuchError(f"more than {MOST_BYTES // 1_000_000} MB")
        if self._read > SWELLING_FROM and self._read > MOST_SWELLING * self._packed.tell():
            raise _TooMuchError(f"it swells more than {MOST_SWELLING}-fold when it is unpacked")
        return found


class _Tar(tarfile.TarFile):
    """Keeps nothing of one entry for the next, and adds up what heads cost."""

    heads = 0
    in_heads = 0

    def forget(self, member: tarfile.TarInfo) -> None:
        """To be called after each entry. What heads say of all entries that follow would cost at each of them."""
        self.members: list[tarfile.TarInfo] = []
        self.pax_headers: dict[str, str] = {}
        self.heads = 0
        self.in_heads += member.offset_data - member.offset - tarfile.BLOCKSIZE
        if self.in_heads > MOST_IN_HEADS:
            raise _TooMuchError(f"more than {MOST_IN_HEADS // 1_000_000} MB of heads")


class _Header(tarfile.TarInfo):
    """The head of an entry. Those before it are read at once, one within the other: so they are counted."""

    @classmethod
    def fromtarfile(cls, tarfile: tarfile.TarFile) -> Self:
        if isinstance(tarfile, _Tar):
            tarfile.heads += 1
            if tarfile.heads > MOST_HEADS:
                raise _TooMuchError(f"an entry with more than {MOST_HEADS} heads")
        return super().fromtarfile(tarfile)

    @classmethod
    def frombuf(cls, buf: bytes | bytearray, encoding: str, errors: str) -> Self:
        head = super().frombuf(buf, encoding, errors)
        if head.size < 0:
            raise tarfile.ReadError("A size is less than nothing.")
        if not head.isreg() and head.size > LONGEST_HEAD:
            raise _TooMuchError(f"an entry with a head of more than {LONGEST_HEAD:,} bytes")
        return head


def _may_be_one(name: str) -> bool:
    return name.lower().endswith((".json", ".xml")) and not name.startswith(".")
