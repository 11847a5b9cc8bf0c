"""From an unknown word to the practice's own term, end to end."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Mapping
from datetime import date
from pathlib import Path

import pytest
from openpyxl import load_workbook

from bridge.words_asked import HEADINGS
from tests.cli.test_check_mark import here, run

__all__ = ["here"]

ANSWERS = {"zoggy": "heavy", "przf": "own word"}


def words_of(sheet: Path) -> list[str]:
    with sheet.open(encoding="utf-8-sig", newline="") as stream:
        return [row["Your word"] for row in csv.DictReader(stream)]


def answer_csv(
    path: Path, answers: Mapping[str, str] = ANSWERS, *, encoding: str = "utf-8", delimiter: str = ","
) -> None:
    """Answers as a spreadsheet program saves them: other columns first, one more, blank rows between."""
    with path.open(encoding="utf-8-sig", newline="") as stream:
        rows = list(csv.DictReader(stream))
    for row in rows:
        if row["Your word"] in answers:
            row.update(Means=answers[row["Your word"]], Why="wir alle, höchstens", When="2026-05-03")
    page = io.StringIO(newline="")
    writer = csv.DictWriter(page, ["remarks", *reversed(HEADINGS)], restval="", delimiter=delimiter)
    writer.writeheader()
    for row in rows:
        writer.writerow(row)
        writer.writerow({})
    path.write_bytes(page.getvalue().encode(encoding))


@pytest.mark.parametrize(("encoding", "delimiter"), [("utf-8", ","), ("utf-8-sig", ";"), ("cp1252", ";")])
def test_after_adopting_the_words_are_known(here: Path, encoding: str, delimiter: str) -> None:
    run("check", "mess.csv", "--words", "words.csv")
    answer_csv(here / "words.csv", encoding=encoding, delimiter=delimiter)
    result = run("terms", "adopt", "words.csv", "--by", "PS")
    assert result.exit_code == 0, result.output
    assert "2 adopted" in result.output
    after = run("check", "mess.csv", "--words", "after.csv", "--json")
    assert not {"zoggy", "przf"} & set(words_of(here / "after.csv"))
    assert not [i for i in json.loads(after.stdout)["issues"] if "zoggy" in i["message"] or "przf" in i["message"]]
    table = (here / "terms" / "adopted.csv").read_bytes()
    again = run("terms", "adopt", "words.csv", "--by", "JB")
    assert again.exit_code == 0
    assert "2 known already" in again.output
    assert (here / "terms" / "adopted.csv").read_bytes() == table


def test_a_doubt_stays_a_doubt_after_adopting(here: Path) -> None:
    run("check", "mess.csv", "--words", "words.csv")
    answer_csv(here / "words.csv", {"przf": "perforation"})
    assert run("terms", "adopt", "words.csv", "--by", "PS").exit_code == 0
    data = json.loads(run("terms", "find", "?przf", "--kind", "drum", "--json").stdout)
    assert data["assertion"] == "suspected"
    assert data["exact"][0]["concept"] == "drum-perforation"


@pytest.mark.parametrize("option", ["--mark", "--words"])
def test_answers_in_a_workbook(here: Path, option: str) -> None:
    run("check", "mess.csv", option, "words.xlsx")
    book = load_workbook("words.xlsx")
    sheet = book["Words"]
    row = next(r for r in range(1, 30) if sheet.cell(r, 2).value == "zoggy")
    for column, value in zip(range(7, 11), ["heavy", "so we write", "PS", date(2026, 5, 3)], strict=True):
        sheet.cell(row, column, value)
    book.save("words.xlsx")
    result = run("terms", "adopt", "words.xlsx")
    assert result.exit_code == 0, result.output
    with (here / "terms" / "adopted.csv").open(encoding="utf-8") as stream:
        (adopted,) = csv.DictReader(line for line in stream if not line.startswith("#"))
    assert (adopted["words"], adopted["concept"], adopted["decided_on"]) == ("zoggy", "wax-heavy", "2026-05-03")


def test_one_wrong_answer_and_nothing_is_written(here: Path) -> None:
    run("check", "mess.csv", "--words", "words.csv")
    answer_csv(here / "words.csv", {**ANSWERS, "AS dull": "dull"})
    result = run("terms", "adopt", "words.csv", "--by", "PS", "--json")
    assert result.exit_code == 1
    told = json.loads(result.stdout)
    assert [i["rule"] for i in told["issues"]] == ["M123"]
    assert told["issues"][0]["where"]["heading"] == "Your word"
    assert not told["written"]
    assert not (here / "terms").exists()


def test_a_dry_run_writes_nothing(here: Path) -> None:
    run("check", "mess.csv", "--words", "words.csv")
    answer_csv(here / "words.csv")
    result = run("terms", "adopt", "words.csv", "--by", "PS", "--dry-run")
    assert result.exit_code == 0
    assert "2 would be adopted" in result.output
    assert not (here / "terms").exists()


def test_a_day_on_the_command_must_be_plain(here: Path) -> None:
    run("check", "mess.csv", "--words", "words.csv")
    assert run("terms", "adopt", "words.csv", "--on", "03/05/2026").exit_code == 2


def test_another_sheet_is_refused(here: Path) -> None:
    result = run("terms", "adopt", "mess.csv")
    assert result.exit_code == 3
    assert "no sheet of words" in result.output
