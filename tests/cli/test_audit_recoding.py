"""`audit sample` and `audit agree` from the records of the demo to the figures, as a lead and two coders use them."""

from __future__ import annotations

import csv
import json
import os
import shutil
import stat
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner, Result

from bridge.cli import main

DEMO = Path(__file__).parents[2] / "mappings" / "demo"


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(main, ["audit", *map(str, words)])


@pytest.fixture(scope="module")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> Path:
    target = tmp_path_factory.mktemp("drawn") / "again.xlsx"
    done = run("sample", 30, DEMO / "ears-2026.csv", "--seed", "may", "--to", target, "--practice", DEMO)
    assert done.exit_code == 0, done.output
    return target


@pytest.fixture
def sheet(drawn: Path, tmp_path: Path) -> Path:
    """The sheet with its key beside it, for one test."""
    for path in (drawn, drawn.with_name("again.key.json")):
        shutil.copy(path, tmp_path)
    return tmp_path / drawn.name


def fill(sheet: Path, name: str, *, wrong: int = 0, left: int = 0) -> Path:
    """A copy in which each line has the record's meaning, but the first `wrong`; the last `left` are empty."""
    key = json.loads(sheet.with_name("again.key.json").read_text(encoding="utf-8"))
    book = openpyxl.load_workbook(sheet)
    page = book["Lines"]
    for at, line in enumerate(key["lines"]):
        own = {c["code"] for c in line["codings"] if c["system"].startswith("urn:oid:2.25")} | {line.get("meaning")}
        shown = next((c["shown"] for c in key["choices"][line["kind"]] if c["concept"] in own), "other")
        if at < wrong:
            shown = next(c["shown"] for c in key["choices"][line["kind"]] if c["concept"] not in own)
        if at < len(key["lines"]) - left:
            page.cell(at + 2, 5).value = shown
            page.cell(at + 2, 6).value = "words" if shown == "other" else None
    target = sheet.parent / name
    book.save(target)
    return target


def test_what_is_written_is_for_its_owner_alone(sheet: Path) -> None:
    if os.name != "nt":
        for path in (sheet, sheet.with_name("again.key.json")):
            assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_nothing_is_written_over_unless_asked(sheet: Path) -> None:
    before = sheet.read_bytes()
    words = ("sample", 5, DEMO / "ears-2026.csv", "--seed", "june", "--to", sheet, "--practice", DEMO)
    assert run(*words).exit_code == 2
    assert sheet.read_bytes() == before
    assert run(*words, "--replace").exit_code == 0
    assert sheet.read_bytes() != before


def test_a_sheet_as_the_record_has_it_agrees_wholly(sheet: Path) -> None:
    done = run("agree", fill(sheet, "shah.xlsx"))
    assert done.exit_code == 0, done.output
    assert "30 of 30  100.0%        100.0%" in done.output
    assert max(map(len, done.output.splitlines())) <= 80


def test_two_coders_one_half_filled(sheet: Path, tmp_path: Path) -> None:
    target = tmp_path / "differences.csv"
    sheets = fill(sheet, "shah.xlsx", wrong=6), fill(sheet, "bell.xlsx", left=10)
    done = run("agree", *sheets, "--json", "--csv", target)
    assert done.exit_code == 0, done.output
    data = json.loads(done.stdout)
    told = data["agreement"]
    assert [(c["name"], c["answered"]) for c in told["coders"]] == [("shah", 30), ("bell", 20)]
    assert [(s["same"]["count"], s["same"]["of"]) for s in told["with_record"]] == [(24, 30), (20, 20)]
    assert told["between"][0]["things"] == 20
    assert told["between"][0]["percent"] == 14 / 20
    assert {i["rule"] for i in data["issues"]} >= {"A207"}
    assert (
        len(list(csv.DictReader(target.read_text(encoding="utf-8-sig").splitlines()))) == len(told["differences"]) == 6
    )


def test_fail_on_warning_fails_where_anything_differs(sheet: Path) -> None:
    assert run("agree", fill(sheet, "shah.xlsx", wrong=1), "--fail-on", "warning").exit_code == 1
    assert run("agree", fill(sheet, "bell.xlsx"), "--fail-on", "warning").exit_code == 0


def test_quiet_says_nothing_where_all_is_well(sheet: Path) -> None:
    assert run("agree", fill(sheet, "shah.xlsx"), "--quiet").output == ""


def test_another_sheet_and_another_file_are_told_together(sheet: Path, tmp_path: Path) -> None:
    other = tmp_path / "other"
    other.mkdir()
    strange = other / "strange.xlsx"
    run("sample", 5, DEMO / "visits-2026.csv", "--seed", "else", "--to", strange, "--practice", DEMO)
    notes = tmp_path / "notes.csv"
    notes.write_text("a,b\n1,2\n", encoding="utf-8")
    broken = tmp_path / "broken.xlsx"
    broken.write_bytes(b"PK\x03\x04 no workbook")
    done = run("agree", strange, notes, broken, "--key", sheet.with_name("again.key.json"), "--json")
    assert done.exit_code == 1
    found = json.loads(done.stdout)["issues"]
    assert [i["rule"] for i in found].count("A200") == 2
    assert [i["rule"] for i in found].count("A201") == 5


def test_a_missing_or_changed_key_is_said(sheet: Path) -> None:
    filled = fill(sheet, "shah.xlsx")
    key = sheet.with_name("again.key.json")
    content = key.read_text(encoding="utf-8")
    key.write_text(content.replace("M26-", "M27-", 1), encoding="utf-8")
    assert "was changed" in run("agree", filled).output
    key.unlink()
    assert "No key of these sheets lies beside" in run("agree", filled).output


def test_of_several_keys_beside_it_a_sheet_finds_its_own(sheet: Path) -> None:
    other = sheet.with_name("other.xlsx")
    run("sample", 5, DEMO / "visits-2026.csv", "--seed", "else", "--to", other, "--practice", DEMO)
    done = run("agree", fill(sheet, "shah.xlsx"), "--json")
    assert json.loads(done.stdout)["agreement"]["with_record"][0]["same"]["of"] == 30
    assert "more than one key" in run("agree", sheet, other).output


def test_coders_with_one_file_name_are_told_apart_by_their_folders(sheet: Path) -> None:
    for name in ("bell", "shah"):
        (sheet.parent / name).mkdir()
        fill(sheet, f"{name}/again.xlsx")
    sheets = [sheet.parent / name / "again.xlsx" for name in ("bell", "shah")]
    done = run("agree", *sheets, "--key", sheet.with_name("again.key.json"), "--json")
    assert [c["name"] for c in json.loads(done.stdout)["agreement"]["coders"]] == ["bell/again", "shah/again"]


def test_a_csv_copy_of_the_lines_is_read_too(sheet: Path) -> None:
    book = openpyxl.load_workbook(fill(sheet, "shah.xlsx"))
    target = sheet.with_name("shah.csv")
    with target.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerows(book["Lines"].iter_rows(values_only=True))
    done = run("agree", target, "--json")
    assert json.loads(done.stdout)["agreement"]["with_record"][0]["same"] == {"count": 30, "of": 30, "share": 1.0}


def test_bundles_are_sampled_by_the_visits_in_them(tmp_path: Path) -> None:
    bundles = Path(__file__).parents[2] / "demo_bundles"
    source = next(bundles.rglob("M26-0101*.bundle.json"))
    target = tmp_path / "again.xlsx"
    done = run("sample", 12, source, "--seed", "may", "--to", target, "--practice", DEMO, "--json")
    assert done.exit_code == 0, done.output
    assert json.loads(done.stdout)["lines"] == 12
    again = run("agree", fill(target, "shah.xlsx"), "--json")
    assert json.loads(again.stdout)["agreement"]["with_record"][0]["same"]["share"] == 1.0
