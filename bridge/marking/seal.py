"""The same bytes each time, and a mark in the file by which we know it again as ours, untouched since."""

from __future__ import annotations

import hashlib
import io
import re
import zipfile
from pathlib import Path
from typing import Any

MAKER = "visit-bridge-copy"
_UNSEALED = "0" * 64
_CUSTOM, _CORE = "docProps/custom.xml", "docProps/core.xml"
_PROPERTY = re.compile(rb'name="' + MAKER.encode() + rb'".{0,200}?([0-9a-f]{64})', re.DOTALL)
_CREATED = re.compile(rb"<dcterms:created[^>]*>([^<]*)</dcterms:created>")
_MODIFIED = re.compile(rb"(<dcterms:modified[^>]*>)[^<]*(</dcterms:modified>)")
_THEN = (1980, 1, 1, 0, 0, 0)
_MOST = 1_000_000


def saved(book: Any) -> bytes:
    """A workbook as the bytes of its file: no clock in them, and sealed as ours."""
    from openpyxl.packaging.custom import StringProperty  # type: ignore[import-untyped]

    if MAKER in book.custom_doc_props.names:
        del book.custom_doc_props[MAKER]
    book.custom_doc_props.append(StringProperty(name=MAKER, value=_UNSEALED))
    loose = io.BytesIO()
    book.save(loose)
    return _sealed(loose)


def _sealed(loose: io.BytesIO) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(loose) as before, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as after:
        digest = _digest(before).encode()
        for info in before.infolist():
            content = before.read(info)
            if info.filename == _CUSTOM:
                content = content.replace(_UNSEALED.encode(), digest)
            elif info.filename == _CORE and (created := _CREATED.search(content)):
                content = _MODIFIED.sub(rb"\g<1>" + created[1] + rb"\g<2>", content)
            entry = zipfile.ZipInfo(info.filename, _THEN)
            entry.compress_type = zipfile.ZIP_DEFLATED
            after.writestr(entry, content)
    return out.getvalue()


def may_replace(path: Path) -> bool:
    """Whether a workbook may be written over: there is none, or it is one of ours and nobody has changed it since."""
    if not path.exists():
        return True
    try:
        with zipfile.ZipFile(path) as packed:
            info = packed.getinfo(_CUSTOM)
            told = _PROPERTY.search(packed.read(info)) if info.file_size < _MOST else None
            return told is not None and told[1].decode() == _digest(packed)
    except (OSError, KeyError, zipfile.BadZipFile, NotImplementedError, RuntimeError, ValueError):
        return False


def _digest(packed: zipfile.ZipFile) -> str:
    """Of names and checksums of all parts but those that hold the seal and the dates."""
    parts = sorted(f"{i.filename}:{i.CRC}" for i in packed.infolist() if i.filename not in (_CUSTOM, _CORE))
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()
