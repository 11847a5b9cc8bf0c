"""manifest.json, written and read: its form is ours, and FORMAT.md tells it to strangers."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable, Mapping
from typing import Any

from bridge.parcel.names import clash, fault_of_name
from bridge.parcel.shapes import MANIFEST, SIGNATURE, About, Listed, Manifest, Piece

FORMAT = "visit-bridge parcel"
VERSION = 1

BY_NAME = {
    "visits": re.compile(r"visits/[^/]+\.bundle\.json\Z"),
    "letters": re.compile(r"letters/[^/]+\.pdf\Z"),
    "images": re.compile(r"images/.+\Z"),
}
"""What is counted by the names of the files."""

_LONGEST = 2_000
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}\Z")
_SHA256 = re.compile(r"[0-9a-f]{64}\Z")
_MOST = 2**53 - 1
_UNSHOWABLE = re.compile("[\x00-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ud800-\udfff]")
"""Control characters, those that turn the direction of writing, halves of characters."""


class NotUnderstoodError(ValueError):
    """The manifest is none of ours, or of a later version; the words say what, without quoting it."""


def counted(sizes: Mapping[str, int]) -> dict[str, int]:
    """What names and sizes of the pieces show: files, bytes, visits, letters, images."""
    found = {what: sum(1 for name in sizes if pattern.match(name)) for what, pattern in BY_NAME.items()}
    return {"files": len(sizes), "bytes": sum(sizes.values()), **found}


def written(pieces: Iterable[Piece], about: About) -> bytes:
    """The manifest of pieces; the same pieces in any order give the same bytes.

    Raises ValueError where a name or a text is not fit for a parcel, or `about` counts otherwise than the pieces show:
    then the caller left something out.
    """
    ordered = sorted(pieces, key=lambda piece: piece.name)
    names = [piece.name for piece in ordered]
    for name in names:
        if fault := fault_of_name(name):
            raise ValueError(f"a piece has a name {fault}")
        if name in (MANIFEST, SIGNATURE):
            raise ValueError("a piece has the name of the manifest or its signature")
    if fault := clash(names):
        raise ValueError(fault)
    told = [about.clinic, about.practitioner, about.to, about.client, about.purpose, *(piece.what for piece in ordered)]
    if any(len(text) > _LONGEST or _UNSHOWABLE.search(text) for text in told):
        raise ValueError("a text of the manifest is too long or holds control characters")
    seen = counted({piece.name: len(piece.content) for piece in ordered})
    if wrong := sorted(what for what, count in about.counts.items() if seen.get(what, count) != count):
        raise ValueError(f"the pieces do not show the count that was given of: {', '.join(wrong)}")
    data = {
        "format": FORMAT,
        "format_version": VERSION,
        "made": about.made,
        "by": {"clinic": about.clinic, "practitioner": about.practitioner},
        "for": about.to,
        "client": about.client,
        "purpose": about.purpose,
        "tool": {"name": about.tool, "version": about.version},
        "counts": dict(sorted({**about.counts, **seen}.items())),
        "files": [
            {
                "name": piece.name,
                "size": len(piece.content),
                "sha256": hashlib.sha256(piece.content).hexdigest(),
                "media_type": piece.media_type,
                "what": piece.what,
            }
            for piece in ordered
        ],
    }
    return (json.dumps(data, indent=2, ensure_ascii=False) + "\n").encode()


def read(content: bytes) -> Manifest:
    """Raises NotUnderstoodError for what is no manifest of this format and version."""
    data = _dict(_json(content), "")
    if data.get("format") != FORMAT:
        raise NotUnderstoodError("it does not say that it is the manifest of a parcel")
    if data.get("format_version") != VERSION:
        raise NotUnderstoodError("it is of another version of the format")
    by, tool = _dict(data.get("by"), "by"), _dict(data.get("tool"), "tool")
    counts = {
        _text(what, "counts"): _count(count, "counts") for what, count in _dict(data.get("counts"), "counts").items()
    }
    files = data.get("files")
    if not isinstance(files, list):
        raise NotUnderstoodError("files: no list")
    about = About(
        made=_matching(data.get("made"), _DAY, "made"),
        clinic=_text(by.get("clinic"), "by.clinic"),
        practitioner=_text(by.get("practitioner"), "by.practitioner"),
        to=_text(data.get("for"), "for"),
        client=_text(data.get("client"), "client"),
        purpose=_text(data.get("purpose"), "purpose"),
        tool=_text(tool.get("name"), "tool.name"),
        version=_text(tool.get("version"), "tool.version"),
        counts={what: count for what, count in counts.items() if what not in counted({})},
    )
    return Manifest(about, counts, tuple(_listed(row) for row in files))


def _listed(row: Any) -> Listed:
    row = _dict(row, "files")
    return Listed(
        name=_text(row.get("name"), "files.name"),
        size=_count(row.get("size"), "files.size"),
        sha256=_matching(row.get("sha256"), _SHA256, "files.sha256"),
        media_type=_text(row.get("media_type"), "files.media_type"),
        what=_text(row.get("what"), "files.what"),
    )


def _json(content: bytes) -> Any:
    def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        if len(dict(pairs)) < len(pairs):
            raise NotUnderstoodError("a key stands in it twice")
        return dict(pairs)

    try:
        return json.loads(content.decode("utf-8"), object_pairs_hook=once)
    except NotUnderstoodError:
        raise
    except (ValueError, RecursionError):
        raise NotUnderstoodError("it is no JSON in UTF-8") from None


def _dict(value: Any, where: str) -> dict[str, Any]:
    if not isinstance(value, dict):
        raise NotUnderstoodError(f"{where}: no object" if where else "it is no object")
    return value


def _text(value: Any, where: str) -> str:
    if not isinstance(value, str) or len(value) > _LONGEST or _UNSHOWABLE.search(value):
        raise NotUnderstoodError(f"{where}: no short text")
    return value


def _matching(value: Any, pattern: re.Pattern[str], where: str) -> str:
    if not isinstance(value, str) or not pattern.match(value):
        raise NotUnderstoodError(f"{where}: not of the expected form")
    return value


def _count(value: Any, where: str) -> int:
    if not isinstance(value, int) or isinstance(value, bool) or not 0 <= value <= _MOST:
        raise NotUnderstoodError(f"{where}: no count")
    return value
