"""What is told once for many rows is true of each of them: over every seeded case, and the demo with faults in it."""

from __future__ import annotations

import csv
import random
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from bridge.issues import Issue, Report, issue
from bridge.layout import load_layout
from bridge.pipeline import Converter
from bridge.practice import load_practice
from tests.check import test_cases as checked
from tests.read import test_cases as readings
from tests.remake import ROOT

DEMO = ROOT / "mappings/demo"
PLACES = re.compile(
    r"\b([Rr]ows?|[Ll]ine|record|columns?|holds|gives?) \d+( and \d+)?|\d+ (cells|headings|characters|symptoms)"
)
WORDS = (
    "perf", "?", "AS", "TM dull and bleeding, ?perf", "cholesteatoma?", "n/a", "3/13/2026", "90", "bled after", "OME",
    "dizzy, discharge", "not done", "1", "no wax but a bit", "refused", "nil", "L", "18 units", "not very narrow",
)  # fmt: skip


def one_saying(issues: list[Issue]) -> None:
    for group in Report(issues).by_cause():
        assert len({PLACES.sub("", one.message) for one in group}) == 1, [one.message for one in group]


def test_seeded_cases_of_reading(tmp_path: Path) -> None:
    found: list[Issue] = []
    for code in readings.CODES:
        cases = readings.load(code)
        for case in cases["fails"]:
            for reading in readings.read(case, cases.get("sheet", "visit"), tmp_path):
                found += reading.issues
    assert len(found) > 100
    one_saying(found)


def test_seeded_cases_of_checking() -> None:
    found = [
        one for code in checked.RULES for case in checked.load(code)["fails"] for one in checked.run(case["given"])
    ]
    assert len(found) > 300
    one_saying(found)


@pytest.mark.parametrize("name", ["visits-2026.csv:one-row-per-visit", "ears-2026.csv:one-row-per-ear"])
def test_the_demo_with_faults(name: str, tmp_path: Path) -> None:
    file, _, kind = name.partition(":")
    found = list(faulty(DEMO / file, ROOT / f"mappings/layouts/{kind}.yaml", tmp_path / file))
    assert len({one.rule for one in found}) > 14
    one_saying(found)


def faulty(source: Path, layout: Path, target: Path) -> Iterator[Issue]:
    """Issues of the demo's rows, many times over, a cell or two of each made wrong."""
    with source.open(encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    rng, headings = random.Random(20261125), list(rows[0])
    with target.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, headings)
        writer.writeheader()
        for again in range(12):
            for row in rows:
                wrong = {h: rng.choice(WORDS) for h in rng.sample(headings, 1 + again % 2)}
                number = f"{row['Visit no']}-{again}"
                changed = {**row, "Visit no": number, "Version": "", "Replaces version": "", **wrong}
                writer.writerow({h: changed[h] for h in headings})
    practice, issues = load_practice(DEMO)
    assert practice is not None
    converter = Converter(practice, DEMO, issues)
    converter.scan([target], load_layout(layout))
    for conversion in converter.convert(target, load_layout(layout)):
        yield from conversion.issues


def test_a_note_is_told_word_by_word(tmp_path: Path) -> None:
    case = {"rows": [{"Notes": "TM seen"}, {"Visit no": "V2", "R ear note": "TM ok, Cholesteatoma?"}]}
    found = [one for reading in readings.read(case, "visit", tmp_path) for one in reading.issues if one.rule == "R163"]
    groups = {group[0].message: [one.where.row for one in group] for group in Report(found).by_cause()}
    assert groups == {
        "The note speaks of “TM”; nothing in a note gets a code.": [2, 3],
        "The note speaks of “cholesteatoma”; nothing in a note gets a code.": [3],
    }


def test_one_cause_with_two_sayings_is_told_twice() -> None:
    found = [issue("C143", f"Work on the {ear} ear has no outcome.", cause="C143") for ear in ("left", "right", "left")]
    assert [len(group) for group in Report(found).by_cause()] == [2, 1]
