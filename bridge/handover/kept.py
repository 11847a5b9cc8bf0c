"""What an earlier clinic sent and no visit could hold: it travels on, as `receive` (bridge/taken_over.py) put it.

`V1.kept.json` and `V1.account.json` lie beside the visit files, and what came along in a folder `came-with-...`,
whose list names the visits that it came with (bridge/came_with.py).
"""

from __future__ import annotations

import hashlib
import json
import os
import stat
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from bridge.came_with import LIST, READING, belongs, folders_in
from bridge.file_names import safe_stem
from bridge.handover.images import is_picture
from bridge.handover.record import ClientRecord
from bridge.handover.whose_kept import of_another
from bridge.issues import Issue, Where, issue
from bridge.parcel import Piece
from bridge.parcel.names import fault_of_name
from bridge.visit import Client
from bridge.wording import say

ENDINGS = (".kept.json", ".account.json")
EARLIER = "earlier"
MOST_BYTES = 48 * 1024 * 1024
MOST_FILES = 2_000
_TYPES = {
    ".pdf": "application/pdf", ".html": "text/html", ".csv": "text/csv", ".txt": "text/plain", ".jpg": "image/jpeg",
    ".png": "image/png", ".json": "application/json", ".xml": "application/xml", ".ndjson": "application/fhir+ndjson",
}  # fmt: skip
_VISIT_FILES = (".yaml", ".yml", ".json")
_RECORDS = (
    *_VISIT_FILES,
    ".csv",
    ".tsv",
    ".txt",
    ".xlsx",
    ".xls",
    ".xlsm",
    ".ods",
    ".sqlite",
    ".sqlite3",
    ".db",
    ".ndjson",
    ".xml",
)
_KINDS = (".draft", ".summary", ".referral", ".client", ".record")


@dataclass(slots=True)
class Kept:
    pieces: dict[str, Piece] = field(default_factory=dict)
    issues: list[Issue] = field(default_factory=list)
    pictures: bool = True
    """Whether pictures go with it."""
    withheld: int = 0
    """Pictures that do not."""


def kept_of(
    record: ClientRecord, sources: Mapping[str, Sequence[Path]], foreign: set[str], *, pictures: bool = True
) -> Kept:
    """All of it that is this client's: what is named as their visit files are, and whole folders that hold no visit
    of anybody else; nothing in which another client stands, whatever its name, nor the account beside it. D188 for a
    file that is there and cannot be taken, or of which nobody can tell whose it is.

    `foreign`: names of sources that hold visits of others; what stands beside those may be theirs. Without `pictures`
    those that came along stay (D183).
    """
    found, taken = Kept(pictures=pictures), set[Path]()
    mine = [(v, path) for v in record.visits if v.where.file not in foreign for path in sources.get(v.where.file, ())]
    for visit, path in mine:
        if path.suffix.lower() in _VISIT_FILES:
            names = dict.fromkeys((path.stem, _bare(path.stem), visit.stem))
            taken |= {path.with_name(name + ending) for name in names for ending in ENDINGS}
    own = {path for _, path in mine}
    named, folders = set(taken), list(dict.fromkeys(path.parent for path in own))
    for folder in folders:
        beside = _names(folder)
        loose = [folder / name for name in beside if name.endswith(ENDINGS) and folder / name not in taken]
        others = [name for name in beside if _may_hold_visits(name) and folder / name not in own]
        if not others:
            taken |= set(loose)
        elif unclear := [path for path in loose if not _of_another(path, others)]:
            message = f"Of {len(unclear)} kept files in this folder nobody can tell whose they are; they are left out."
            found.issues.append(issue("D188", message, Where(file=folder.name), cause="D188:whose"))
    clients = [v.visit.client for v in record.visits]
    theirs = {p for p in taken if p.name.endswith(ENDINGS[0]) and _tells_of_another(p, clients, p in named)}
    theirs |= {path.with_name(path.name.removesuffix(ENDINGS[0]) + ENDINGS[1]) for path in theirs} & taken
    if theirs:
        message = f"Another client stands in {len(theirs)} kept files; they are left out."
        found.issues.append(issue("D188", message, cause="D188:another"))
    for path in sorted(taken - theirs):
        _put(path, f"kept/{safe_stem(path.name[: -len(_ending(path))])}{_ending(path)}", found)
    _came_along(record, sources, found)
    if found.withheld:
        many = (
            f"{found.withheld} pictures that came along are" if found.withheld > 1 else "1 picture that came along is"
        )
        message = f"{many} not handed over: no consent given to us names pictures or the whole record."
        found.issues.append(issue("D183", message, Where(path="sharing.scope"), cause="D183:earlier"))
    return found


def _came_along(record: ClientRecord, sources: Mapping[str, Sequence[Path]], found: Kept) -> None:
    """Whole folders, by the visits that they came with; D188 for those of which nobody can tell."""
    numbers = [v.visit.number for v in record.visits]
    folders = dict.fromkeys(path.parent for v in record.visits for path in sources.get(v.where.file, ()))
    for folder in folders:
        told = {came: belongs(came, numbers) for came in folders_in(folder)}
        for came in (came for came, whether in told.items() if whether):
            for place, path in _files(came):
                earlier = place if place.startswith(f"{EARLIER}/") else f"{EARLIER}/{came.name}/{place}"
                if place != LIST:
                    _put(path, earlier, found)
        if unclear := [came for came, whether in told.items() if whether is None]:
            message = f"Of {len(unclear)} folders that came along nobody can tell whose they are; they are left out."
            found.issues.append(issue("D188", message, Where(file=folder.name), cause="D188:came"))


def _tells_of_another(path: Path, clients: Sequence[Client], named: bool) -> bool:
    """What cannot be read is told where it is put."""
    try:
        return of_another(_read(path), clients, named=named)
    except (OSError, ValueError, RecursionError):
        return False


def _bare(stem: str) -> str:
    """Without what the name of a visit file says of its kind."""
    kind = next((kind for kind in _KINDS if stem.endswith(kind)), "")
    return _bare(stem.removesuffix(kind)) if kind else stem


def _ending(path: Path) -> str:
    return next(ending for ending in ENDINGS if path.name.endswith(ending))


def _names(folder: Path) -> list[str]:
    try:
        return sorted(path.name for path in folder.iterdir())[:MOST_FILES]
    except OSError:
        return []


def _may_hold_visits(name: str) -> bool:
    return name.lower().endswith(_RECORDS) and not name.endswith(ENDINGS)


def _of_another(path: Path, others: Sequence[str]) -> bool:
    """Whether it is named as another visit file is, which then has it."""
    name = path.name[: -len(_ending(path))]
    return any(name in (Path(other).stem, _bare(Path(other).stem)) for other in others)


def _files(folder: Path) -> Iterator[tuple[str, Path]]:
    """The files of a folder with their places in it; no link is followed."""
    if folder.is_symlink() or not folder.is_dir():
        return
    number = 0
    for above, names, files in os.walk(folder):
        names.sort()
        for name in sorted(files):
            number += 1
            if number > MOST_FILES:
                return
            path = Path(above, name)
            yield path.relative_to(folder).as_posix(), path


def _put(path: Path, name: str, found: Kept) -> None:
    try:
        content = _read(path)
    except FileNotFoundError:
        return
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) else str(error)
        message = f"This file of an earlier clinic is not in the parcel: {why}."
        found.issues.append(issue("D188", message, Where(file=path.name), cause=f"D188:{why}"))
        return
    if not found.pictures and is_picture(path.name, content):
        found.withheld += 1
        return
    if name in found.pieces and found.pieces[name].content != content:
        stem, dot, ending = name.rpartition(".")
        name = f"{stem}-{hashlib.sha256(content).hexdigest()[:8]}{dot}{ending}"
    what = next((ending.split(".")[1] for ending in ENDINGS if name.endswith(ending)), EARLIER)
    media_type = (
        "application/json" if what != EARLIER else _TYPES.get(Path(name).suffix.lower(), "application/octet-stream")
    )
    found.pieces[name] = Piece(name, media_type, content, say(f"handover.what.{what}"))


def _read(path: Path) -> bytes:
    """Raises FileNotFoundError, OSError, and ValueError with the reason for what is no such file."""
    with open(os.open(path, READING), "rb") as stream:
        if not stat.S_ISREG(os.fstat(stream.fileno()).st_mode):
            raise ValueError("it is no file")
        content = stream.read(MOST_BYTES + 1)
    if len(content) > MOST_BYTES:
        raise ValueError("it is too large")
    if path.name.endswith(ENDINGS):
        try:
            json.loads(content)
        except (ValueError, RecursionError):
            raise ValueError("it is no JSON") from None
    elif fault := fault_of_name(f"{EARLIER}/{path.name}"):
        raise ValueError(f"its name is one {fault}")
    return content
