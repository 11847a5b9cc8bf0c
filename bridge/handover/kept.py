"""What an earlier clinic sent and no visit could hold (`<stem>.kept.json`, bridge/taken_over.py): it travels on."""

from __future__ import annotations

import json
import os
import stat
from collections.abc import Mapping, Sequence
from pathlib import Path

from bridge.file_names import safe_stem
from bridge.handover.record import ClientRecord
from bridge.issues import Issue, Where, issue
from bridge.parcel import Piece
from bridge.wording import say

ENDINGS = (".kept.json", ".account.json")
MOST_BYTES = 48 * 1024 * 1024
_VISIT_FILES = (".yaml", ".yml", ".json")


def kept_of(
    record: ClientRecord, sources: Mapping[str, Sequence[Path]], foreign: set[str]
) -> tuple[list[Piece], list[Issue]]:
    """The files beside each visit file of this client; D188 for one that is there and cannot be taken.

    `foreign`: names of sources that hold visits of others too; what stands beside those may be theirs.
    """
    pieces: dict[str, Piece] = {}
    issues: list[Issue] = []
    files = dict.fromkeys(v.where.file for v in record.visits if v.where.file not in foreign)
    for path in (path for file in files for path in sources.get(file, ()) if path.suffix.lower() in _VISIT_FILES):
        for ending in ENDINGS:
            try:
                content = _read(path.with_name(path.stem + ending))
            except FileNotFoundError:
                continue
            except (OSError, ValueError) as error:
                why = error.strerror if isinstance(error, OSError) else str(error)
                message = f"The file with {ending} beside this visit file is not in the parcel: {why}."
                issues.append(issue("D188", message, Where(file=path.name), cause=f"D188:{ending}"))
                continue
            name = f"kept/{safe_stem(path.stem)}{ending}"
            pieces[name] = Piece(name, "application/json", content, say(f"handover.what.{ending.split('.')[1]}"))
    return list(pieces.values()), issues


def _read(path: Path) -> bytes:
    """Raises FileNotFoundError, OSError, and ValueError with the reason for what is no such file."""
    flags = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)
    with open(os.open(path, flags), "rb") as stream:
        if not stat.S_ISREG(os.fstat(stream.fileno()).st_mode):
            raise ValueError("it is no file")
        content = stream.read(MOST_BYTES + 1)
    if len(content) > MOST_BYTES:
        raise ValueError("it is too large")
    try:
        json.loads(content)
    except (ValueError, RecursionError):
        raise ValueError("it is no JSON") from None
    return content
