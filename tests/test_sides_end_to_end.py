"""No fact ever changes its ear between the raw sheet and the letter.

The judge reads two things only: the cells that were typed, and the text of the finished page. It imports
neither the package nor its tables. `VISIT_BRIDGE_MANY=10000 python -m pytest tests/test_sides_end_to_end.py` runs
the full count.
"""

from __future__ import annotations

import csv
import os
import random
import re
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

import pytest
from lxml import html

from bridge.layout import load_layout
from bridge.pipeline import Converter, letter_of
from bridge.practice import load_practice
from tests.read.books import as_database, as_json, as_lines, as_workbook
from tests.remake import ROOT

MANY = int(os.environ.get("VISIT_BRIDGE_MANY", "150"))
MIN = 60
"""Enough for every word of CELLS to come up."""

# Cells by column without the ear's letter. None contains another, and none names a side.
CELLS = {
    "symptoms": ["itch", "otalgia", "hearing loss", "blocked feeling", "tinnitus", "qualmish buzz"],
    "wax": ["heavy", "moderate", "mild", "impacted", "gloopsy"],
    "wax type": ["hard", "sticky", "crumbly", "flinty"],
    "wax colour": ["honey", "black", "orange", "puce"],
    "canal": ["narrow", "tortuous", "?exostosis", "no debris", "snaggy"],
    "drum": ["dull", "?perf", "no perforation", "scar", "mottly"],
    "method": ["microsuction", "instruments", "irrigation"],
    "instrument": ["fine end", "wax hook", "crocodile forceps", "ring probe"],
    "outcome": ["complete", "partial", "stopped"],
    "events": ["dizziness", "cough", "no bleeding", "graze"],
    "tolerance": ["well tolerated", "some discomfort", "poorly tolerated"],
    "after canal": ["red", "wumpled", "debris"],
    "hearing change": ["better", "worse"],
}
DENIED = {"no debris": "no debris", "no perforation": "no perforation", "no bleeding": "no bleeding"}
DOUBTED = ("?exostosis", "?perf")
FIXED = {
    "Seen by": "PS", "Place": "clinic", "Attended": "yes", "First name": "Ada", "Sex": "F",
    "NHS number": "999 526 0182", "NHS status": "traced",
    "Address": "1 Quay Row", "Town": "Aldersby", "Postcode": "ZX9 3BW", "GP practice": "AG",
    "Reason": "ears checked", "Consent to treat": "yes", "Consent to share": "yes", "GP action": "nothing",
    "Date": "12/01/2026", "Time": "09:30", "Date of birth": "14/06/1952", "Allergies": "none",
    "Written up": "12/01/2026 10:02",
}  # fmt: skip


def as_sheet(path: Path, grid: Sequence[Sequence[str]]) -> Path:
    with path.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerows(grid)
    return path


KEPT_AS = {"csv": as_sheet, "xlsx": as_workbook, "sqlite": as_database, "json": as_json, "ndjson": as_lines}


def _rows(count: int, rng: random.Random) -> list[dict[str, str]]:
    with (ROOT / "mappings/demo/visits-2026.csv").open(encoding="utf-8") as stream:
        headings = next(csv.reader(stream))
    rows = []
    for number in range(count):
        row = dict.fromkeys(headings, "") | FIXED
        row |= {"Visit no": f"S{number:05}", "Client no": f"C{number:05}", "Surname": "Quill"}
        numbers = iter(rng.sample(range(11, 98), 4))
        for ear in "RL":
            if rng.random() < 0.1:
                continue
            for column, values in CELLS.items():
                if f"{ear} {column}" in row and rng.random() < 0.7:
                    row[f"{ear} {column}"] = rng.choice(values)
            if not row[f"{ear} method"]:
                for column in ("instrument", "outcome", "events", "tolerance"):
                    row[f"{ear} {column}"] = ""
            if row[f"{ear} wax"]:
                row[f"{ear} wax %"] = str(next(numbers))
            row[f"{ear} after wax %"] = str(next(numbers)) if rng.random() < 0.5 else ""
        rows.append(row)
    return rows


EARS = {"R": ("right ear", "Right"), "L": ("left ear", "Left")}


def _spoken(page: bytes) -> dict[str, str]:
    """All text of the page that is about each ear, lower case: its columns, groups, codes, drawings with their
    alternative text, and the clauses in brief. What is said of both ears is said of each."""
    tree = html.fromstring(page.decode("utf-8"))
    found = {}
    for ear, (name, short) in EARS.items():
        about = [cell for cell in tree.xpath("//td[@headers]") if f"ear-{short.lower()}" in cell.get("headers").split()]
        about += [dl for dl in tree.xpath("//dl[dt]") if dl.findtext("dt").lower().startswith((name, "both ears"))]
        rows = tree.xpath("//section[h2='Codes']//tbody/tr")
        about += [row for row in rows if row.xpath("string(td[1])").strip() == short]
        titles = {figure: figure.find("figcaption/b").text_content().lower() for figure in tree.iter("figure")}
        figures = [figure for figure, title in titles.items() if title.startswith(name)]
        texts = [node.text_content() for node in (*about, *figures)]
        both = [
            " ".join(cell.text_content() for cell in row)
            for row in rows
            if row.xpath("string(td[1])").strip() == "Both"
        ]
        texts += [re.sub(rf"\b{'Left' if ear == 'R' else 'Right'}: [^;]*", "", row) for row in both]
        texts += [alt for figure in figures for alt in figure.xpath(".//@aria-label")]
        brief = " ".join(node.text_content() for node in tree.xpath("//section[h2='In brief']/div"))
        texts += [c for c in re.split(r"[.;] ", brief) if re.search(rf"\b({name}|both ears|(n?either) ear)\b", c)]
        found[ear] = re.sub(r"\s+", " ", " ".join(texts)).lower()
    return found


@pytest.mark.parametrize(
    ("kind", "codes"), [("csv", "free"), ("csv", "licensed"), *((kind, "free") for kind in KEPT_AS if kind != "csv")]
)
def test_every_cell_stays_on_its_ear(kind: str, codes: str, tmp_path: Path) -> None:
    rows = _rows(MANY if kind == "csv" else max(MIN, MANY // 5), random.Random(20261125))
    grid = [list(rows[0]), *(list(row.values()) for row in rows)]
    source = KEPT_AS[kind](tmp_path / f"sheet.{kind}", grid)
    practice, _ = load_practice(ROOT / "mappings/demo")
    assert practice is not None
    practice = practice.model_copy(update={"codes": codes})
    layout = load_layout(ROOT / "mappings/layouts/one-row-per-visit.yaml")
    pages = {
        c.visit.number: letter_of(c.bundles["summary"]).content
        for c in Converter(practice, ROOT / "mappings/demo").convert(source, layout)
        if c.visit is not None and "summary" in c.bundles
    }
    assert len(pages) == len(rows), "every generated visit must become a letter"
    judged = Counter[str]()
    for row in rows:
        spoken = _spoken(pages[row["Visit no"]])
        for ear, other in (("R", "L"), ("L", "R")):
            typed = {c: row.get(f"{ear} {c}", "") for c in CELLS}
            across = {row.get(f"{other} {c}", "") for c in CELLS}
            for word in filter(None, typed.values()):
                judged[word] += 1
                missing = [part for part in word.lower().split() if part not in spoken[ear]]
                assert not missing, f"{row['Visit no']}: {word} is missing from {ear}"
                if not any(word in w or w in word for w in across if w):
                    assert not _says(spoken[other], word), f"{row['Visit no']}: {word} crossed to {other}"
            for column in ("wax %", "after wax %"):
                percent = row[f"{ear} {column}"]
                if percent:
                    judged["percent"] += 1
                    assert f"{percent}%" in spoken[ear]
                    assert f"{percent}%" not in spoken[other]
            _judge_claims(spoken[ear], typed.values(), row["Visit no"])
    everything = {w for values in CELLS.values() for w in values}
    reached = {w for w in everything if judged[w]}
    assert reached == everything - _not_in_sheet(rows[0]), f"never generated: {sorted(everything - reached)}"


def _says(text: str, word: str) -> bool:
    return re.search(rf"(?<![a-z]){re.escape(word.lower())}(?![a-z])", text) is not None


def _judge_claims(text: str, typed: object, number: str) -> None:
    """What was denied or doubted must not be told as there."""
    words = set(typed)  # type: ignore[call-overload]
    for raw, told in DENIED.items():
        if raw in words:
            assert told in text, f"{number}: the denial {raw} is lost"
    for raw in DOUBTED:
        if raw in words:
            assert "suspected, not confirmed" in text, f"{number}: the doubt in {raw} is lost"


def _not_in_sheet(row: dict[str, str]) -> set[str]:
    return {w for column, values in CELLS.items() if f"R {column}" not in row for w in values}
