"""Finds the tables in `mappings/`, shipped or the practice's own, and loads them.

The practice's own folder is looked up before the shipped one. Nothing here knows what a table means.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

from bridge.errors import MappingError

MAX_TABLE_BYTES = 20_000_000


@cache
def mappings_root() -> Path:
    """The shipped `mappings/` folder: inside the wheel, or beside the package in a checkout."""
    package = Path(__file__).parent
    for root in (package / "mappings", package.parent / "mappings"):
        if root.is_dir():
            return root
    raise MappingError("The tables in mappings/ are missing from this installation.", "Install visit-bridge again.")


def table_path(*parts: str, own: Path | None = None) -> Path:
    """Path of a table or a folder of tables; `own` (a practice folder) wins where it has the file."""
    if own is not None and (mine := own.joinpath(*parts)).exists():
        return mine
    path = mappings_root().joinpath(*parts)
    if not path.exists():
        raise MappingError(f"There is no table {'/'.join(parts)}.")
    return path


def load_yaml(path: Path) -> Any:
    """A YAML table as plain data. Raises MappingError with line and column when it is not YAML."""
    try:
        if path.stat().st_size > MAX_TABLE_BYTES:
            raise MappingError(f"{path.name} is larger than {MAX_TABLE_BYTES // 1_000_000} MB.")
        content = path.read_bytes()
    except OSError as error:
        raise MappingError(f"{path.name} cannot be read: {error.strerror}.") from None
    if not path.is_relative_to(mappings_root()):
        return _yaml(path, content)
    from bridge.kept import kept

    return kept("table", content, lambda: _yaml(path, content))


def _yaml(path: Path, content: bytes) -> Any:
    import yaml

    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    try:
        return yaml.load(content.decode("utf-8-sig"), Loader=loader)  # noqa: S506 - a safe loader
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark
        at = f", line {mark.line + 1}, column {mark.column + 1}" if mark else ""
        raise MappingError(f"{path.name}{at}: {error.problem}.", "Check indentation and colons there.") from None
    except (yaml.YAMLError, UnicodeDecodeError, RecursionError):
        raise MappingError(f"{path.name} is not readable YAML in UTF-8.") from None


def load_csv(path: Path) -> Iterator[dict[str, str]]:
    """Rows of a CSV table by heading; lines that start with # are notes and are passed over."""
    try:
        with path.open(encoding="utf-8-sig", newline="") as stream:
            lines = (line for line in stream if not line.startswith("#") and line.strip())
            reader = csv.reader(lines, strict=True)
            headings = next(reader, [])
            for number, cells in enumerate(reader, 2):
                if len(cells) != len(headings):
                    raise MappingError(f"{path.name}: data row {number} has not as many cells as headings.")
                yield dict(zip(headings, cells, strict=True))
    except (csv.Error, UnicodeDecodeError) as error:
        raise MappingError(f"{path.name} is not readable CSV in UTF-8 ({type(error).__name__}).") from None
    except OSError as error:
        raise MappingError(f"{path.name} cannot be read: {error.strerror}.") from None
