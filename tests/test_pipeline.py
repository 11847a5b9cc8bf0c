"""The corridor: what is said of finished documents, and that reading back really compares."""

from __future__ import annotations

import csv
import re
from pathlib import Path
from typing import Any

import pytest

from bridge.cut import cut
from bridge.issues import Issue, Severity
from bridge.layout import load_layout
from bridge.pipeline import Conversion, Converter, Kind, reads_back
from bridge.practice import load_practice
from bridge.receive import bundle_to_visits
from bridge.visit.care import NotReferred
from tests.remake import ROOT

DEMO = ROOT / "mappings/demo"
LAYOUT = load_layout(ROOT / "mappings/layouts/one-row-per-visit.yaml")


def convert(folder: Path, kind: Kind = "document", **cells: str) -> Conversion:
    """The demo's first row with some cells changed, as the only row of a sheet."""
    with (DEMO / "visits-2026.csv").open(encoding="utf-8") as stream:
        row = next(csv.DictReader(stream))
    row |= cells
    with (folder / "sheet.csv").open("w", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, row)
        writer.writeheader()
        writer.writerow(row)
    practice, issues = load_practice(DEMO)
    assert practice is not None
    found = Converter(practice, DEMO, issues).convert(folder / "sheet.csv", LAYOUT, kind)
    (conversion,) = [c for c in found if c.state != "left alone"]
    return conversion


def codes(issues: list[Issue]) -> set[str]:
    return {i.rule for i in issues}


def beside_notes(issues: list[Issue]) -> list[Issue]:
    """What is told but for the notes of the clinical rules, which ask for what a row of few columns does not hold."""
    return [i for i in issues if i.severity >= Severity.warning or not re.match("C[2-5]", i.rule)]


def test_a_plain_row_is_ready_without_a_word_but_notes(tmp_path: Path) -> None:
    conversion = convert(tmp_path)
    assert (conversion.state, beside_notes(conversion.issues)) == ("ready", [])


@pytest.mark.parametrize(
    ("cells", "quoted"),
    [
        ({"R wax": "impactd told tennick"}, False),
        ({"R wax": "impactd 01632 960123"}, False),
        ({"R wax": "impactd told Ténnick"}, False),
        ({"R wax": "impactd told Peña", "Surname": "Pena"}, False),
        ({"R wax": "impactd told Weirside", "Address": "31 Weirside"}, False),
        ({"R wax": "impactd told ZX9 1JR", "Postcode": "ZX9 1JR"}, False),
        ({"R wax": "impactd told later"}, True),
        ({"R wax": "impacted quite", "Surname": "Impacted"}, True),
    ],
)
def test_a_name_or_a_number_among_the_words_is_not_quoted(tmp_path: Path, cells: dict[str, str], quoted: bool) -> None:
    """A word of the trade is no name, whoever is called so."""
    told = [i.message for i in convert(tmp_path, **cells).issues if i.where.path == "right.before.wax.amount"]
    assert (told[0].startswith("“"), cells["R wax"] in " ".join(told)) == (True, quoted), told


def test_no_family_doctor_recorded_is_told(tmp_path: Path) -> None:
    conversion = convert(tmp_path, **{"GP practice": ""})
    assert conversion.state == "ready"
    assert codes(beside_notes(conversion.issues)) == {"D114"}


def test_a_transaction_that_corrects_says_what_it_cannot_take_back(tmp_path: Path) -> None:
    corrected = {"Version": "2", "Replaces version": "1"}
    assert "D117" in codes(convert(tmp_path, "transaction", **corrected).issues)
    assert "D117" not in codes(convert(tmp_path, "transaction").issues)


CHANGES: list[dict[str, Any]] = [
    {"note": "another word"},
    {"right": None},
    {"attendance": "left before examination"},
    {"no_request": False},
]


@pytest.mark.parametrize("change", CHANGES)
def test_a_document_that_says_something_else_is_refused(tmp_path: Path, change: dict[str, Any]) -> None:
    conversion = convert(tmp_path)
    assert conversion.visit is not None
    shown = cut(conversion.visit, "summary").visit
    assert reads_back(conversion.bundles["summary"], shown) == []
    other = shown.model_copy(update=change)
    assert codes(reads_back(conversion.bundles["summary"], other)) == {"D112"}


def test_ears_that_changed_places_are_refused(tmp_path: Path) -> None:
    conversion = convert(tmp_path)
    assert conversion.visit is not None
    visit = conversion.visit
    swapped = visit.model_copy(update={"right": visit.left, "left": visit.right})
    assert codes(reads_back(conversion.bundles["summary"], swapped)) == {"D112"}


@pytest.mark.parametrize("bundle", [{"resourceType": "Bundle", "type": "searchset"}, {"resourceType": "Patient"}])
def test_what_is_no_document_is_not_read_back(bundle: dict[str, Any]) -> None:
    visits, issues = bundle_to_visits(bundle)
    assert visits == []
    assert codes(issues) == {"X101"}


@pytest.mark.parametrize(
    ("emptied", "rule"),
    [("Consent to share", "D110"), ("Consent to treat", "C125"), ("GP practice", "D114"), ("R outcome", "C143")],
)
def test_what_is_missing_is_told_at_the_empty_cell(emptied: str, rule: str, tmp_path: Path) -> None:
    found = [i for i in convert(tmp_path, **{emptied: ""}).issues if i.rule == rule]
    assert [(i.where.row, i.where.heading) for i in found] == [(2, emptied)]


def test_a_sheet_gives_the_reason_for_no_referral(tmp_path: Path) -> None:
    cells = {"Reason not referred": "Seen there, and well.", "Flags not referred": "RF01; C205"}
    visit = convert(tmp_path, **cells).visit
    assert visit is not None
    assert visit.not_referred == NotReferred(reason="Seen there, and well.", rules=("RF01", "C205"))
    blank = convert(tmp_path, **{"Reason not referred": "n/a"})
    assert blank.visit is not None
    assert blank.visit.not_referred is None
    assert beside_notes(blank.issues) == []


def test_flags_without_a_reason_are_told(tmp_path: Path) -> None:
    conversion = convert(tmp_path, **{"Flags not referred": "RF01"})
    assert conversion.state == "need you"
    assert [i.where.heading for i in beside_notes(conversion.issues)] != []
