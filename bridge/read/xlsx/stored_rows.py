"""The stored rows of a worksheet, taken from its part in pieces of whole rows; it is never held as a whole."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from bridge.errors import InputError
from bridge.read.xlsx.elements import MAX_ELEMENT_BYTES, Guarded, local
from bridge.read.xlsx.package import Part, damaged
from bridge.read.xlsx.plain_rows import Cell, Row, plain_rows
from bridge.read.xlsx.texts import joined_text

_PIECE = 1 << 18
_MAX_HEAD = 10_000_000
_ROOT = re.compile(rb"<((?:[A-Za-z_][\w.-]*:)?worksheet)(?:\s[^<>]*)?>")
_DATA = re.compile(rb"<(?:[A-Za-z_][\w.-]*:)?sheetData\s*(/?)>")
_ENDS = re.compile(rb"</(?:[A-Za-z_][\w.-]*:)?sheetData\s*>")
_ROW_ENDS = (b"</row>", b":row>")


def stored_rows(part: Part, file: str) -> Iterator[Row]:
    """Every row, one after the other. Raises InputError for a part that is no worksheet in order."""
    from lxml import etree

    stream = Guarded(part, file)
    text, root = _head(stream, file)
    if root is None:
        return
    start, end = root[0], b"</" + root[1] + b">"
    parser = etree.XMLParser(
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        collect_ids=False,
        remove_comments=True,
        remove_pis=True,
    )
    for piece in _pieces(stream, text, file):
        rows = plain_rows(piece)
        if rows is not None:
            yield from rows
            continue
        try:
            for row in etree.fromstring(start + piece + end, parser):
                if local(row) != "row":
                    raise damaged(file)
                number = row.get("r")
                yield None if number is None else str(number), [_cell(cell) for cell in row]
        except etree.XMLSyntaxError:
            raise damaged(file) from None


def _cell(cell: Any) -> Cell:
    stored, inline, formula = None, None, False
    for child in cell:
        name = local(child)
        if name == "v":
            stored = child.text or ""
        elif name == "is":
            inline = joined_text(child)
        elif name == "f":
            formula = True
    return Cell("", cell.get("r"), cell.get("s"), cell.get("t"), stored, inline, formula)


def _head(stream: Guarded, file: str) -> tuple[bytes, tuple[bytes, bytes] | None]:
    """What follows the start of the rows, and the start tag of the whole with its name; None without rows."""
    text = b""
    while not (found := _DATA.search(text)):
        more = stream.read(_PIECE)
        if not more or len(text) > _MAX_HEAD:
            raise damaged(file)
        text += more
    root = _ROOT.search(text, 0, found.start())
    if not root:
        raise damaged(file)
    return text[found.end() :], None if found[1] else (root[0], root[1])


def _pieces(stream: Guarded, text: bytes, file: str) -> Iterator[bytes]:
    """The text between the start and the end of the rows, cut behind rows."""
    while not (end := _ENDS.search(text) if b"sheetData" in text else None):
        cut = max(at + len(mark) if (at := text.rfind(mark)) >= 0 else 0 for mark in _ROW_ENDS)
        if cut:
            yield text[:cut]
            text = text[cut:]
            stream.since = len(text)
        more = stream.read(_PIECE)
        if not more:
            raise damaged(file)
        if len(text) + len(more) > MAX_ELEMENT_BYTES:
            raise InputError(f"{file} holds a row of more than {MAX_ELEMENT_BYTES // 1_000_000} MB.")
        text += more
    yield text[: end.start()]
