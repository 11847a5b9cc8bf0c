"""Since when and how fast: with the first symptom that is there, never with one that is denied."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.shapes import Reading
from tests.read.sheets import codes, read_rows, records


def read(folder: Path, symptoms: str, rows: str = "visit", **more: str) -> Reading:
    front = "R " if rows == "visit" else ""
    since = {f"{front}since" if front else "Since": "05/2026"}
    cells = {f"{front}symptoms" if front else "Symptoms": symptoms, **since, **more}
    return records(read_rows(folder, [cells], rows))[0]


def told(reading: Reading) -> list[tuple[str, str | None]]:
    assert reading.visit is not None, reading.issues
    assert reading.visit.right is not None
    return [(s.term.text, s.onset) for s in reading.visit.right.symptoms]


@pytest.mark.parametrize("rows", ["visit", "ear"])
@pytest.mark.parametrize(
    ("symptoms", "wanted", "rules"),
    [
        ("itch", [("itch", "2026-05")], set()),
        ("no pain; itch", [("no pain", None), ("itch", "2026-05")], set()),
        ("itch; no pain", [("itch", "2026-05"), ("no pain", None)], set()),
        ("no pain; hearing gone", [("no pain", None), ("hearing gone", "2026-05")], set()),
        ("pain gone; itch", [("pain gone", None), ("itch", "2026-05")], set()),
        ("pain gone", [("pain gone", "2026-05")], set()),
        ("?discharge", [("?discharge", "2026-05")], set()),
        ("itch; pain", [("itch", "2026-05"), ("pain", None)], {"R165"}),
        ("no pain", [("no pain", None)], {"R166"}),
        ("no severe; no pain", [("no severe", None), ("no pain", None)], {"R166"}),
        ("none", [("none", None)], {"R166"}),
        ("no pain, hearing loss", [], {"R160", "R116", "R166"}),
        ("", [], {"R166"}),
    ],
)  # fmt: skip
def test_the_date_goes_with_a_symptom_that_is_there(
    symptoms: str, wanted: list[tuple[str, str | None]], rules: set[str], rows: str, tmp_path: Path
) -> None:
    reading = read(tmp_path, symptoms, rows)
    assert told(reading) == wanted
    assert set(codes([reading])) == rules
    note = (reading.visit and reading.visit.right and reading.visit.right.note) or ""
    assert ("ince: 05/2026" in note) == ("R166" in rules)


def test_how_fast_goes_with_the_same_symptom(tmp_path: Path) -> None:
    reading = read(tmp_path, "no pain; hearing loss", **{"R came on over days": "2"})
    assert reading.visit is not None and reading.visit.right is not None  # noqa: PT018
    [_, loss] = reading.visit.right.symptoms
    assert loss.onset == "2026-05"
    assert loss.developed_over is not None and loss.developed_over.value == 2  # noqa: PT018
