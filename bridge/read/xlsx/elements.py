"""Elements of a part of a workbook, one after the other; nothing that a document type declares is ever followed."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

from bridge.errors import InputError
from bridge.read.xlsx.package import Part, damaged

if TYPE_CHECKING:
    from lxml.etree import _Element

MAX_ELEMENT_BYTES = 64_000_000
"""XML between two elements that are asked for; more than this is no row and no string."""
_PROLOGUE = re.compile(rb"\s+|<\?.*?\?>|<!--.*?-->", re.DOTALL)
_MAX_PROLOGUE = 100_000


class Guarded:
    """A stream for the parser: no document type, in UTF-8, and no element without an end."""

    def __init__(self, part: Part, file: str) -> None:
        self._part, self._file = part, file
        self.since = 0
        self._head = self._prologue()

    def _prologue(self) -> bytes:
        head = self._part.read(4096)
        while True:
            at = 3 if head.startswith(b"\xef\xbb\xbf") else 0
            while found := _PROLOGUE.match(head, at):
                at = found.end()
            rest = head[at : at + 9]
            if rest.startswith(b"<!D") or head[:1] in (b"\x00", b"\xfe", b"\xff") or b"\x00" in head[:4]:
                raise InputError(
                    f"{self._file} holds a document type, which no workbook needs; it was not read.",
                    "Open it in the spreadsheet program, save it under a new name and read that file.",
                )
            if re.match(rb"<[A-Za-z_]", rest):
                return head
            more = self._part.read(4096)
            if not more or len(head) > _MAX_PROLOGUE:
                raise damaged(self._file)
            head += more

    def read(self, size: int) -> bytes:
        if self._head:
            content, self._head = self._head, b""
        else:
            content = self._part.read(size)
        self.since += len(content)
        if self.since > MAX_ELEMENT_BYTES:
            raise InputError(f"{self._file} holds a row or a text of more than {MAX_ELEMENT_BYTES // 1_000_000} MB.")
        return content


def elements(part: Part, file: str, *names: str) -> Iterator[_Element]:
    """Every element of these names, whatever its namespace, complete and then forgotten."""
    from lxml import etree

    stream = Guarded(part, file)
    context = etree.iterparse(
        stream,
        tag=tuple(f"{{*}}{name}" for name in names),
        encoding="utf-8",
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        remove_comments=True,
        remove_pis=True,
    )
    try:
        for _, element in context:
            stream.since = 0
            yield element
            parent = element.getparent()
            element.clear()
            if parent is not None:
                while element.getprevious() is not None:
                    del parent[0]
    except etree.XMLSyntaxError:
        raise damaged(file) from None


def local(element: _Element) -> str:
    """The name of an element without its namespace."""
    return str(element.tag).rpartition("}")[2]


def attribute(element: _Element, name: str) -> str:
    """An attribute whatever its namespace, such as the `r:id` of a sheet."""
    return next((str(v) for k, v in element.attrib.items() if str(k).rpartition("}")[2] == name), "")
