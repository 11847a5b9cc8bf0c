"""Looks into a workbook's file before it is opened as a whole: whether that is safe, and what a copy will lack."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterator
from pathlib import Path

from bridge.errors import InputError
from bridge.issues import Issue, Where, issue

MOST_PARTS = 5_000
MOST_BYTES = 600_000_000
MOST_SWELLING = 250
"""Times that a part may be larger than it is packed."""
MOST_MERGED = 100_000
"""Cells of one merged area."""
_CHUNK = 1 << 20
_MERGED = re.compile(rb'MERGECELL [^>]*?REF="([A-Z]{1,3})(\d{1,7}):([A-Z]{1,3})(\d{1,7})"')
_LOST = (
    ("xl/charts/", "charts"),
    ("xl/media/", "pictures"),
    ("xl/diagrams/", "diagrams"),
    ("xl/ctrlProps/", "buttons and form fields"),
    ("xl/activeX/", "buttons and form fields"),
    ("xl/slicers/", "slicers"),
    ("xl/timelines/", "timelines"),
    ("xl/threadedComments/", "conversations on cells"),
    ("xl/embeddings/", "embedded files"),
    ("xl/richData/", "pictures and data types inside cells"),
    ("xl/customXml/", "custom data"),
    ("_xmlsignatures/", "the signature"),
)
_INSIDE = (
    ("xl/drawings/drawing", b":SP ", "shapes and text boxes"),
    ("xl/worksheets/", b"<EXTLST", "newer kinds of coloured rules, lists to choose from and small charts in cells"),
)


def lacking(path: Path) -> list[Issue]:
    """D140 where a copy of this workbook may lack something. Raises InputError where it is not safe to open."""
    lost = _lost(path)
    if not lost:
        return []
    told = f"The marked copy may lack what {path.name} has besides its cells: {', '.join(lost)}."
    return [issue("D140", told, Where(path.name), cause="D140")]


def _lost(path: Path) -> list[str]:
    name = path.name
    try:
        with zipfile.ZipFile(path) as packed:
            infos = packed.infolist()
            if len(infos) > MOST_PARTS or sum(i.file_size for i in infos) > MOST_BYTES or any(map(_swells, infos)):
                raise InputError(f"{name} is too large to be copied and marked.", "Use check without --mark for it.")
            names = [i.filename for i in infos]
            for info in infos:
                if info.filename.lower().endswith((".xml", ".rels", ".vml")) and _declares(packed, info):
                    raise InputError(f"{name} holds declarations that no spreadsheet program writes.", "Do not use it.")
                if info.filename.startswith("xl/worksheets/") and _merges_much(packed, info):
                    raise InputError(
                        f"{name} merges too many cells to be copied and marked.", "Use check without --mark."
                    )
            found = [what for start, what in _LOST if any(n.startswith(start) for n in names)]
            found += [what for start, mark, what in _INSIDE if _holds(packed, names, start, mark)]
    except (OSError, zipfile.BadZipFile, NotImplementedError, RuntimeError, ValueError, EOFError):
        raise InputError(f"{name} cannot be copied: the workbook is damaged.", "Save it again and retry.") from None
    return list(dict.fromkeys(found))


def _swells(info: zipfile.ZipInfo) -> bool:
    """Whether a part grows beyond what spreadsheet programs ever pack."""
    return info.file_size > 10 * _CHUNK and info.file_size > MOST_SWELLING * max(info.compress_size, 1)


def _merges_much(packed: zipfile.ZipFile, info: zipfile.ZipInfo) -> bool:
    """Whether merged areas cover more cells than can be kept one by one."""
    merged = (found for block in _blocks(packed, info) for found in _MERGED.finditer(block))
    return any(_area(*found.groups()) > MOST_MERGED for found in merged)


def _area(left: bytes, top: bytes, right: bytes, bottom: bytes) -> int:
    wide = abs(_column(right) - _column(left)) + 1
    return wide * (abs(int(bottom) - int(top)) + 1)


def _column(letters: bytes) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + letter - 64
    return number


def _declares(packed: zipfile.ZipFile, info: zipfile.ZipInfo) -> bool:
    """Whether a part has a document type, by which a few bytes can be made to fill a computer."""
    return any(b"<!DOCTYPE" in block or b"<!ENTITY" in block for block in _blocks(packed, info))


def _blocks(packed: zipfile.ZipFile, info: zipfile.ZipInfo) -> Iterator[bytes]:
    """The part piece by piece, a little of the last one in front, without the empty bytes of wide letters."""
    tail = b""
    with packed.open(info) as stream:
        while chunk := stream.read(_CHUNK):
            block = tail + chunk.replace(b"\x00", b"").upper()
            yield block
            tail = block[-64:]


def _holds(packed: zipfile.ZipFile, names: list[str], start: str, mark: bytes) -> bool:
    """Whether a part of this kind has this element, in capitals as blocks are."""
    parts = (n for n in names if n.startswith(start) and n.endswith(".xml"))
    return any(mark in block for n in parts for block in _blocks(packed, packed.getinfo(n)))
