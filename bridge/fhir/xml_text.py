"""Bytes of an XML file before they are parsed: size, encoding, and places in them."""

from __future__ import annotations

import re

from bridge.issues import Issue, Where, issue

_BOM = b"\xef\xbb\xbf"
_OTHER_BOMS = {b"\xff\xfe": "UTF-16", b"\xfe\xff": "UTF-16", b"\x00\x00\xfe\xff": "UTF-32"}
_DECLARED = re.compile(
    rb"""<\?xml\s+version\s*=\s*(["'])(?P<version>[0-9.]+)\1(?:\s+encoding\s*=\s*(["'])(?P<encoding>[^"']*)\3)?"""
)


def is_xml(content: bytes) -> bool:
    """Whether a file can only be XML: its first sign is an angle bracket."""
    return content[:1024].removeprefix(_BOM).lstrip()[:1] == b"<"


def xml_bytes(content: bytes, file: str, max_bytes: int) -> tuple[bytes | None, list[Issue]]:
    """The bytes without a byte order mark (which XML allows); None with the reason where they are no UTF-8."""
    where = Where(file=file)
    if len(content) > max_bytes:
        return None, [issue("S124", f"The file is larger than {max_bytes:,} bytes.", where)]
    for bom, name in _OTHER_BOMS.items():
        if content.startswith(bom):
            return None, [issue("S120", f"The file is written in {name}, not in UTF-8.", where)]
    content = content.removeprefix(_BOM)
    if not content.strip():
        return None, [issue("S128", "The file is empty.", where)]
    try:
        content.decode("utf-8")
    except UnicodeDecodeError as error:
        row, column = Places(content[: error.start]).at(error.start)
        place = Where(file=file, row=row, column=column)
        return None, [issue("S120", "There are bytes here that are not UTF-8.", place)]
    if (at := content.find(b"\0")) >= 0:
        row, column = Places(content).at(at)
        message = "There is a NUL byte here, which XML does not allow."
        return None, [issue("S120", message, Where(file=file, row=row, column=column))]
    return content, []


def declared(content: bytes, file: str) -> Issue | None:
    """What is wrong with what a file says of itself in its XML declaration."""
    found = _DECLARED.match(content)
    where = Where(file=file, row=1, column=1)
    if found and (found["encoding"] or b"UTF-8").upper() != b"UTF-8":
        return issue("S120", "The file says that it is written in another encoding than UTF-8.", where)
    if found and found["version"] != b"1.0":
        return issue("S140", "The file says that it is another edition of XML than 1.0.", where)
    return None


class Places:
    """Line and column of bytes, counted on from the place that was asked for before."""

    def __init__(self, content: bytes) -> None:
        self._content = content
        self._at, self._row, self._column = 0, 1, 1

    def at(self, index: int) -> tuple[int, int]:
        """Line and column, both from 1, the column in characters."""
        if index < self._at:
            self._at, self._row, self._column = 0, 1, 1
        lines = self._content.count(b"\n", self._at, index)
        if lines:
            self._row, self._column = self._row + lines, 1
            self._at = self._content.rfind(b"\n", self._at, index) + 1
        self._column += len(self._content[self._at : index].decode("utf-8", "replace"))
        self._at = index
        return self._row, self._column
