"""The practice's table of adopted words, `terms/adopted.csv` in its folder: rows are added at its end."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from pathlib import Path

from bridge.coding.term_map import COLUMNS
from bridge.data import load_csv
from bridge.errors import BridgeError, MappingError
from bridge.safe_write import write_bytes

NAME = "adopted.csv"
DECISION = ("decided_by", "decided_on", "why")
_HEAD = "# Words that this practice has given a meaning, by `visit-bridge terms adopt`: who decided, when and why.\n"


def add_rows(practice: Path, rows: Sequence[dict[str, str]]) -> Path:
    """Writes the rows below those that are there, which stay as they are. Returns the table's path.

    Raises MappingError for a table that has lost a column, BridgeError where it cannot be written.
    """
    path = practice / "terms" / NAME
    columns: tuple[str, ...] = (*COLUMNS, *DECISION)
    before = _HEAD + ",".join(columns) + "\n"
    if path.exists():
        before = path.read_text(encoding="utf-8-sig")
        columns = _columns(path, before)
    page = io.StringIO(newline="")
    writer = csv.DictWriter(page, columns, restval="", extrasaction="ignore", lineterminator="\n")
    writer.writerows(rows)
    whole = (before if not before or before.endswith("\n") else f"{before}\n") + page.getvalue()
    try:
        path.parent.mkdir(exist_ok=True)
        write_bytes(path, whole.encode("utf-8"))
    except OSError as error:
        raise BridgeError(
            f"{path.name} cannot be written: {error.strerror or 'unknown reason'}.", "Close it in other programs."
        ) from None
    return path


def _columns(path: Path, text: str) -> tuple[str, ...]:
    for _ in load_csv(path):
        pass  # a row that is not in order is told before anything is added below it
    lines = [line for line in text.splitlines(keepends=True) if line.strip() and not line.startswith("#")]
    found = tuple(next(csv.reader(lines), ()))
    if missing := [name for name in (*COLUMNS, *DECISION) if name not in found]:
        raise MappingError(f"{path.name} lacks the column {missing[0]}.", "Put it back, with its cells left empty.")
    return found
