"""Sheets for the benchmarks: the demo's own rows, as many times as needed, each with a number of its own."""

from __future__ import annotations

import csv
import os
import subprocess
import sys
from itertools import cycle, islice
from pathlib import Path

LAYOUT = Path(__file__).parents[2] / "mappings" / "layouts" / "one-row-per-visit.yaml"
NUMBER = "Visit no"
"""The heading in that layout under which a visit's number stands."""


def make_demo(folder: Path) -> Path:
    """Runs `visit-bridge demo` in the folder and gives back the practice folder that it makes."""
    subprocess.run(
        [sys.executable, "-m", "bridge", "demo"], cwd=folder, check=False, stdout=subprocess.DEVNULL, env=environment()
    )
    return next(folder.rglob("practice.yaml")).parent


def sheet_of(count: int, demo: Path, target: Path) -> Path:
    """Writes `count` visits in the layout of one row per visit and gives back the path."""
    heading, rows = _demo_rows(demo)
    at = heading.index(NUMBER)
    with target.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(heading)
        for n, row in enumerate(islice(cycle(rows), count), 1):
            writer.writerow([*row[:at], f"B{n:06}", *row[at + 1 :]])
    return target


def convert_line(sheet: Path, practice: Path, target: Path) -> list[str]:
    """The command line that converts the sheet."""
    line = [sys.executable, "-m", "bridge", "convert", str(sheet), "--practice", str(practice)]
    return [*line, "--layout", str(LAYOUT), "--to", str(target), "--quiet", "--report", "json"]


def environment() -> dict[str, str]:
    """The environment of a run from anywhere, with this checkout's package first."""
    return {**os.environ, "PYTHONPATH": str(LAYOUT.parents[2])}


def _demo_rows(demo: Path) -> tuple[list[str], list[list[str]]]:
    for path in sorted(demo.parent.rglob("visits*.csv")):
        with path.open(encoding="utf-8-sig", newline="") as stream:
            heading, *rows = csv.reader(stream)
        if NUMBER in heading:
            return heading, rows
    raise SystemExit(f"The demo has no sheet with a column {NUMBER!r}.")
