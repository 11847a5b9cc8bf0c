"""Makes small sheets of records and reads them: one good row, and what a test changes in it."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from bridge.data import mappings_root
from bridge.layout import Layout, load_layout
from bridge.marked_yaml import load_marked
from bridge.read.visits import read_visits
from bridge.shapes import Reading

LONDON = ZoneInfo("Europe/London")

GOOD: dict[str, str] = {
    "Visit no": "V1", "Date": "12/03/2026", "Time": "10:15", "Seen by": "JB", "Client no": "C1",
    "Surname": "Testington", "First name": "Ada", "Date of birth": "03/05/1950", "Sex": "F",
    "NHS number": "999 000 0018", "NHS status": "traced", "GP practice": "MILL", "Reason": "blocked feeling",
    "Consent to treat": "yes", "Consent to share": "yes",
}  # fmt: skip
RIGHT: dict[str, str] = {
    "R before view": "full", "R wax": "moderate", "R wax %": "60", "R canal": "normal", "R drum": "normal",
    "R method": "microsuction", "R instrument": "suction tube", "R tube": "18G", "R suction mmHg": "120",
    "R outcome": "complete", "R pain": "2",
}  # fmt: skip
ONE_EAR = {key[2].upper() + key[3:]: value for key, value in RIGHT.items()} | {"Ear": "R"}


def good(rows: str) -> dict[str, str]:
    return {**GOOD, **(RIGHT if rows == "visit" else ONE_EAR)}


def layout_data(rows: str = "visit", changes: Mapping[str, Any] | None = None) -> dict[str, Any]:
    """The shipped layout as data, with settings replaced; under `columns` a null takes a column out."""
    data, _ = load_marked((mappings_root() / "layouts" / f"one-row-per-{rows}.yaml").read_bytes())
    for name, value in (changes or {}).items():
        data[name] = {**data[name], **value} if name in ("columns", "words") else value
    data["columns"] = {k: v for k, v in data["columns"].items() if v is not None}
    return dict(data)


def write_layout(folder: Path, data: Mapping[str, Any]) -> Path:
    """A layout file; JSON is YAML."""
    path = folder / "layout.yaml"
    path.write_text(json.dumps(data, ensure_ascii=False), encoding="utf-8")
    return path


def write_sheet(path: Path, layout: Layout, rows: Sequence[Mapping[str, str]], extra: Sequence[str] = ()) -> Path:
    """A CSV sheet with every heading that the layout needs or a row fills."""
    filled = {key for row in rows for key in row}
    headings = [c.heading for c in layout.columns if not c.optional or c.heading in filled] + list(extra)
    stream = io.StringIO(newline="")
    writer = csv.DictWriter(stream, headings, restval="")
    writer.writeheader()
    writer.writerows(rows)
    path.write_text(stream.getvalue(), encoding="utf-8", newline="")
    return path


def read_rows(
    folder: Path,
    changes: Sequence[Mapping[str, str]] = ({},),
    rows: str = "visit",
    layout: Mapping[str, Any] | None = None,
) -> list[Reading]:
    """Readings of a sheet whose rows are the good one with changes; without those of its headings."""
    made = load_layout(write_layout(folder, layout_data(rows, layout)))
    whole = [{k: v for k, v in {**good(rows), **change}.items() if v is not None} for change in changes]
    sheet = write_sheet(folder / "sheet.csv", made, whole)
    return list(read_visits(sheet, made, LONDON))


def records(readings: Sequence[Reading]) -> list[Reading]:
    """The readings that are of records: not left alone."""
    return [r for r in readings if not r.left_alone]


def codes(readings: Sequence[Reading]) -> list[str]:
    return [i.rule for r in readings for i in r.issues]
