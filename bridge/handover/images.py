"""The pictures that a record names by file, found beside its source: read bounded, never through links or tricks."""

from __future__ import annotations

import hashlib
import os
import re
import stat
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from bridge.came_with import READING, belongs, folders_in
from bridge.ear_words import EARS, Ear
from bridge.file_names import safe_stem
from bridge.handover.record import ClientRecord, VisitRecord
from bridge.issues import Issue, Where, issue
from bridge.same_clinic import of_another
from bridge.visit import Clinic, Visit
from bridge.visit.ear import Image

MOST_BYTES = 48 * 1024 * 1024
MOST_TOGETHER = 160 * 1024 * 1024
"""Below what a parcel may hold (bridge/parcel/limits.py)."""
FOLDER = "images"
_TYPES: tuple[tuple[str, str, int, bytes], ...] = (
    (".jpg", "image/jpeg", 0, b"\xff\xd8\xff"),
    (".png", "image/png", 0, b"\x89PNG\r\n\x1a\n"),
    (".gif", "image/gif", 0, b"GIF8"),
    (".bmp", "image/bmp", 0, b"BM"),
    (".tif", "image/tiff", 0, b"II*\0"),
    (".tif", "image/tiff", 0, b"MM\0*"),
    (".webp", "image/webp", 8, b"WEBP"),
    (".dcm", "application/dicom", 128, b"DICM"),
    (".heic", "image/heic", 4, b"ftypheic"),
    (".heic", "image/heic", 4, b"ftypmif1"),
    (".mp4", "video/mp4", 4, b"ftypisom"),
    (".mp4", "video/mp4", 4, b"ftypmp4"),
)
"""Ending, media type, and the bytes by which each format begins, at their offset (the formats' own definitions)."""
_PICTURES = (*{ending: None for ending, *_ in _TYPES}, ".jpeg", ".tiff", ".svg", ".avif", ".mov", ".m4v")


@dataclass(frozen=True, slots=True)
class HeldImage:
    """One picture of one ear at one visit. `name` is empty where the file is not handed over."""

    record: VisitRecord
    ear: Ear
    image: Image
    name: str
    media_type: str = ""
    content: bytes = b""


class _RefusedError(Exception):
    """Why a file is not taken, in words without its name."""


def images_of(
    record: ClientRecord, sources: Mapping[str, Sequence[Path]], own: Clinic
) -> tuple[list[HeldImage], list[Issue]]:
    """Every picture that a visit in force names; D182 for each that is not there or not taken, with the field.

    `sources`: where each source of a name lies. D183 where the consent to share, given to the clinic `own`, names no
    pictures: none is taken.
    """
    wanted = [
        (visit, ear, index, image)
        for visit in record.newest
        for ear in EARS
        for index, image in enumerate(_images(visit, ear))
    ]
    if wanted and not may_go(record, own):
        names = [HeldImage(visit, ear, image, "") for visit, ear, _, image in wanted]
        message = "No picture is handed over: no consent given to us names pictures or the whole record."
        return names, [issue("D183", message, Where(path="sharing.scope"), cause="D183")]
    found, issues, taken, left = list[HeldImage](), list[Issue](), dict[str, bytes](), MOST_TOGETHER
    for visit, ear, index, image in wanted:
        try:
            content = _read(image.file, _roots(visit.visit, sources.get(visit.where.file, ())), left)
            ending, media_type = _type(content)
        except _RefusedError as why:
            where = Where(record=visit.visit.number, path=f"{ear}.images[{index}].file", file=visit.where.file)
            issues.append(issue("D182", f"This picture is not in the parcel: {why}.", where, cause=f"D182:{why}"))
            found.append(HeldImage(visit, ear, image, ""))
            continue
        name = _name(image.file, ending, content, taken)
        left -= len(content) if name not in taken else 0
        taken[name] = content
        found.append(HeldImage(visit, ear, image, name, media_type, content))
    return found, issues


def _images(record: VisitRecord, ear: Ear) -> tuple[Image, ...]:
    told = record.visit.ear(ear)
    return told.images if told else ()


def may_go(record: ClientRecord, own: Clinic) -> bool:
    """Whether pictures may be handed over: to the client, or by the newest answer on sharing, given to us."""
    if record.reader == "client":
        return True
    asked = [v.visit for v in record.newest if v.visit.sharing]
    if not asked or asked[-1].sharing is None or of_another(asked[-1].clinic, own):
        return False
    return bool({"images", "whole record"} & set(asked[-1].sharing.scope))


def is_picture(name: str, content: bytes) -> bool:
    """By the bytes with which it begins (ISO 14496-12: whatever has `ftyp` there holds pictures), or by its ending."""
    begins = any(content[offset : offset + len(sign)] == sign for _, _, offset, sign in _TYPES)
    return begins or content[4:8] == b"ftyp" or name.lower().endswith(_PICTURES)


def _roots(visit: Visit, sources: Sequence[Path]) -> list[Path]:
    """Folders that a path of the visit may start from: first what came along with it, then that of its source."""
    folders = [source.parent for source in sources]
    came = [path for folder in folders for path in folders_in(folder) if belongs(path, [visit.number])]
    return [root for root in dict.fromkeys((*came, *folders)) if not root.is_symlink()]


def _read(file: str, roots: Sequence[Path], left: int) -> bytes:
    parts = PurePosixPath(file.replace("\\", "/")).parts
    if not parts or parts[0] == "/" or ".." in parts or re.match(r"[A-Za-z]:", file):
        raise _RefusedError("its path leads out of the folder of the records")
    for root in roots:
        at = root
        for part in parts:
            at = at / part
            if at.is_symlink():
                raise _RefusedError("its path leads over a link")
        try:
            path = root.joinpath(*parts)
            with open(os.open(path, READING), "rb") as f:
                if not stat.S_ISREG(os.fstat(f.fileno()).st_mode):
                    raise _RefusedError("it is no file")
                content = f.read(MOST_BYTES + 1)
        except (OSError, ValueError):
            continue
        if len(content) > MOST_BYTES:
            raise _RefusedError(f"it is larger than {MOST_BYTES // 2**20} MiB")
        if len(content) > left:
            raise _RefusedError(f"the pictures together are larger than {MOST_TOGETHER // 2**20} MiB")
        return content
    raise _RefusedError("there is no such file beside the records, or it cannot be read")


def _type(content: bytes) -> tuple[str, str]:
    for ending, media_type, offset, sign in _TYPES:
        if content[offset : offset + len(sign)] == sign:
            return ending, media_type
    raise _RefusedError("its content is none of the formats that pictures have")


def _name(file: str, ending: str, content: bytes, taken: Mapping[str, bytes]) -> str:
    """As the record names it, as far as every computer takes that; another picture never takes its place."""
    plain = PurePosixPath(file.replace("\\", "/"))
    stem = safe_stem("_".join(plain.with_suffix("").parts[1 if plain.parts[0].lower() == FOLDER else 0 :]) or "picture")
    name = f"{FOLDER}/{stem}{ending}"
    if any(name.lower() == other.lower() and content != taken[other] for other in taken):
        name = f"{FOLDER}/{stem}-{hashlib.sha256(content).hexdigest()[:8]}{ending}"
    return next((other for other in taken if other.lower() == name.lower()), name)
