"""Clinic files as strangers keep them, each beside what a careful colleague would say that it holds.

`README.md` tells what each file is and what the words of a truth file mean.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

HERE = Path(__file__).parent

NO_FIELD = frozenset({"ignore", "ask", "text"})
"""What a column can be instead of a field: to be left out, to be asked about, prose to be read word by word."""


@dataclass(frozen=True, slots=True)
class Column:
    heading: str
    """As one string: heading rows joined by ` / `, line breaks as blanks; empty where nothing stands there."""
    to: tuple[str, ...]
    """Each of these is right: field paths, or one of NO_FIELD."""


@dataclass(frozen=True, slots=True)
class Says:
    ear: str
    """`right`, `left`, or empty for the visit as a whole."""
    field: str
    """Path below the ear, or of the visit."""
    words: str
    means: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Spot:
    row: int
    says: tuple[Says, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    name: str
    """Worksheet or database table; empty where the file has one only."""
    query: str
    """The question that joins a database's tables to what the columns below are; empty otherwise."""
    headings: int
    """The last row that holds headings, as the person's own program counts; 0 where rows carry their own names."""
    rows: str
    """`visit`, `ear`, `mixed`, or `none` where the sheet holds no visits."""
    columns: tuple[Column, ...]
    dates: Mapping[str, tuple[str, ...]]
    units: Mapping[str, str]
    words: Mapping[str, Mapping[str, tuple[str, ...]]]
    not_visits: Mapping[int, str]
    spots: tuple[Spot, ...]


@dataclass(frozen=True, slots=True)
class Truth:
    about: str
    language: str
    encoding: str
    delimiter: str
    sheets: tuple[Sheet, ...]


def draft_files(folder: Path = HERE) -> list[tuple[Path, Truth]]:
    """Every clinic file of the folder with its truth, in the order of their names."""
    files = []
    for page in sorted(folder.glob("*.truth.yaml")):
        told = yaml.load(page.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)  # noqa: S506 (texts only)
        files.append((folder / told["file"], _truth(told)))
    return files


def _truth(told: dict[str, Any]) -> Truth:
    sheets = tuple(_sheet(sheet) for sheet in told["sheets"])
    return Truth(told["about"], told["language"], told.get("encoding", ""), told.get("delimiter", ""), sheets)


def _sheet(told: dict[str, Any]) -> Sheet:
    columns = [Column(heading, _several(to)) for entry in told["columns"] for heading, to in entry.items()]
    return Sheet(
        name=told.get("sheet", ""),
        query=told.get("query", ""),
        headings=int(told["headings"]),
        rows=told["rows"],
        columns=tuple(columns),
        dates={heading: _several(forms) for heading, forms in told.get("dates", {}).items()},
        units=told.get("units", {}),
        words={
            heading: {cell: _several(means) for cell, means in cells.items()}
            for heading, cells in told.get("words", {}).items()
        },
        not_visits={int(row): why for row, why in told.get("not_visits", {}).items()},
        spots=tuple(
            Spot(int(spot["row"]), tuple(_says(said) for said in spot["says"])) for spot in told.get("spots", [])
        ),
    )


def _says(told: dict[str, Any]) -> Says:
    return Says(told["ear"], told["field"], told["words"], _several(told["means"]))


def _several(value: str | list[str]) -> tuple[str, ...]:
    return (value,) if isinstance(value, str) else tuple(value)
