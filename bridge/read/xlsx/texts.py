"""The shared texts of a workbook, kept in a private file instead of in memory."""

from __future__ import annotations

import re
import tempfile
import weakref
from array import array
from typing import IO, TYPE_CHECKING

from bridge.read.xlsx.elements import elements, local
from bridge.read.xlsx.package import Package, damaged

if TYPE_CHECKING:
    from lxml.etree import _Element

MAX_TEXTS = 20_000_000
LONGEST = 100_000
"""Characters kept of one text; a record takes far fewer, and says so of a longer one."""
_BLOCK = 1 << 16
_REMEMBERED = 10_000
_ESCAPED = re.compile(r"_x([0-9A-Fa-f]{4})_")


def joined_text(element: _Element) -> str:
    """The text of a string item as it is stored: its runs joined, without the reading aids beside them."""
    pieces: list[str] = []
    for child in element:
        name = local(child)
        if name == "t":
            pieces.append(child.text or "")
        elif name == "r":
            pieces.extend(run.text or "" for run in child if local(run) == "t")
    return "".join(pieces)


def unescape(text: str) -> str:
    """Characters that XML cannot hold are written `_x000B_` (ECMA-376 Part 1, 22.9.2.19)."""
    return _ESCAPED.sub(lambda found: chr(int(found[1], 16)), text) if "_x" in text else text


class Texts:
    """Texts by their number. The file behind has no name and ends with the process."""

    def __init__(self, package: Package, part: str) -> None:
        self._file = package.file
        self._starts = array("Q", [0])
        self._store: IO[bytes] = tempfile.TemporaryFile()  # noqa: SIM115 - lives as long as the texts
        weakref.finalize(self, self._store.close)
        self.known: dict[str, str] = {}
        """Short texts that came up already, by their number as it is written."""
        self._block, self._at = b"", 0
        if part:
            self._fill(package, part)

    def _fill(self, package: Package, part: str) -> None:
        size, starts, write = 0, self._starts, self._store.write
        with package.open(part) as stream:
            for item in elements(stream, package.file, "si"):
                content = unescape(joined_text(item))[:LONGEST].encode("utf-8", "surrogatepass")
                write(content)
                size += len(content)
                starts.append(size)
                if len(starts) > MAX_TEXTS:
                    raise damaged(package.file)
        self._store.flush()

    def get(self, written: str) -> str:
        """The text of a number. Raises InputError where the workbook has none of that number."""
        number = int(written) if written.isdecimal() and len(written) < 10 else -1
        if not 0 <= number < len(self._starts) - 1:
            raise damaged(self._file)
        start, end = self._starts[number], self._starts[number + 1]
        if start < self._at or end > self._at + len(self._block):
            self._store.seek(start)
            self._block, self._at = self._store.read(max(_BLOCK, end - start)), start
        text = self._block[start - self._at : end - self._at].decode("utf-8", "surrogatepass")
        if len(text) <= 60:
            if len(self.known) >= _REMEMBERED:
                self.known.clear()
            self.known[written] = text
        return text
