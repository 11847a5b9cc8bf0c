"""Which earlier versions are kept from one reading of the sources to the next, and for how long."""

from __future__ import annotations

import csv
from itertools import permutations
from pathlib import Path
from typing import Any

import pytest

from bridge.earlier import EarlierVersions
from bridge.layout import load_layout
from bridge.pipeline import Conversion, Converter, Kind
from bridge.practice import load_practice
from bridge.visit import Visit
from tests.build.test_changes import told
from tests.remake import ROOT

DEMO = ROOT / "mappings/demo"
LAYOUT = load_layout(ROOT / "mappings/layouts/one-row-per-visit.yaml")


def visit(number: str, version: int, replaces: int | None = None, **fields: Any) -> Visit:
    client = {"legal_name": {"family": "Rowe"}}
    fields = {
        "number": number,
        "version": version,
        "replaces": replaces,
        "start": "2026-05-03",
        "client": client,
    } | fields
    return Visit.model_validate(fields)


def read(visits: list[Visit]) -> tuple[dict[tuple[str, int], Visit | None], list[int]]:
    """What each correction finds, and how many versions are kept after each visit."""
    earlier = EarlierVersions()
    for one in visits:
        earlier.scan(one)
    found, kept = {}, []
    for one in visits:
        earlier.meet(one)
        if one.replaces is not None:
            found[one.number, one.version] = earlier.of(one)
        kept.append(len(earlier))
    return found, kept


FIRST, SECOND, THIRD = visit("V1", 1), visit("V1", 2, 1), visit("V1", 3, 2)


@pytest.mark.parametrize("order", list(permutations((FIRST, SECOND, THIRD))))
def test_every_order_of_the_sources_finds_the_version_before(order: tuple[Visit, ...]) -> None:
    found, kept = read(list(order))
    assert found == {("V1", 2): FIRST, ("V1", 3): SECOND}
    assert kept[-1] == 0


def test_two_corrections_of_one_version() -> None:
    found, kept = read([FIRST, SECOND, visit("V1", 3, 1)])
    assert found == {("V1", 2): FIRST, ("V1", 3): FIRST}
    assert kept[-1] == 0


def test_a_version_that_is_not_there() -> None:
    assert read([SECOND])[0] == {("V1", 2): None}
    assert read([visit("V2", 1), SECOND])[0] == {("V1", 2): None}


def test_a_version_that_stands_twice_with_other_words_is_not_known() -> None:
    assert read([FIRST, visit("V1", 1, note="other"), SECOND])[0] == {("V1", 2): None}
    assert read([SECOND, FIRST, visit("V1", 1, note="other")])[0] == {("V1", 2): None}
    assert read([FIRST, FIRST, SECOND])[0] == {("V1", 2): FIRST}


def test_only_what_a_correction_waits_for_is_kept() -> None:
    many = [visit(f"W{n}", 1) for n in range(200)]
    pairs = [v for n in range(50) for v in (visit(f"X{n}", 1), visit(f"X{n}", 2, 1))]
    _, kept = read([*many, *pairs])
    assert max(kept) == 1


def convert(folder: Path, rows: list[dict[str, str]], kind: Kind = "document") -> list[Conversion]:
    """The demo's first row, once for each of the rows, with these cells changed."""
    with (DEMO / "visits-2026.csv").open(encoding="utf-8") as stream:
        first = next(csv.DictReader(stream))
    with (folder / "sheet.csv").open("w", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, first)
        writer.writeheader()
        writer.writerows({**first, **row} for row in rows)
    practice, issues = load_practice(DEMO)
    assert practice is not None
    converter = Converter(practice, DEMO, issues)
    converter.scan([folder / "sheet.csv"], LAYOUT)
    return [c for c in converter.convert(folder / "sheet.csv", LAYOUT, kind) if c.state != "left alone"]


ONE = {"Version": "1", "Replaces version": ""}
TWO = {"Version": "2", "Replaces version": "1", "Follow-up": "come back in a month"}


@pytest.mark.parametrize("rows", [[ONE, TWO], [TWO, ONE]])
def test_a_correction_in_a_sheet_lists_what_changed_wherever_it_stands(
    tmp_path: Path, rows: list[dict[str, str]]
) -> None:
    made = convert(tmp_path, rows)
    assert [c.state for c in made] == ["ready", "ready"]
    (correction,) = [c for c in made if c.visit and c.visit.version == 2]
    lines = told(correction.bundles["summary"])
    assert len(lines) == 1
    assert lines[0].startswith("No longer said: Follow-up: ")
    assert lines[0].endswith("Now said: Follow-up: Come back in a month.")


def test_a_correction_alone_says_that_the_version_before_was_not_at_hand(tmp_path: Path) -> None:
    (correction,) = convert(tmp_path, [TWO])
    assert "was not at hand" in told(correction.bundles["summary"])[0]
    (copy,) = convert(tmp_path, [TWO], "client")
    assert "did not have version 1 at hand" in told(copy.bundles["client"])[0]
