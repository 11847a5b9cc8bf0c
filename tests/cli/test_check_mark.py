"""`check --mark` and `check --words`: where the person works, and never over what is theirs."""

from __future__ import annotations

import csv
import json
import os
import shutil
import sqlite3
import stat
from contextlib import closing
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from openpyxl import Workbook, load_workbook

from bridge.cli import main
from bridge.data import mappings_root
from tests.marking.books import notes

CHANGES = {
    (1, "R wax"): "zoggy", (2, "R wax"): "zoggy", (1, "R drum"): "?przf", (2, "R drum"): "przf",
    (2, "L drum"): "AS dull", (3, "Date"): "32/01/2026", (4, "R canal"): "=1+1",
}  # fmt: skip


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A practice folder with a sheet in which some cells are doubtful, as CSV and as workbook."""
    demo = mappings_root() / "demo"
    for name in ("practice.yaml", "doctors.csv", "ears-2026.csv"):
        shutil.copy(demo / name, tmp_path)
    shutil.copytree(demo / "visits", tmp_path / "visits")
    rows = list(csv.reader((demo / "visits-2026.csv").read_text(encoding="utf-8-sig").splitlines()))
    for (row, heading), text in CHANGES.items():
        rows[row][rows[0].index(heading)] = text
    with (tmp_path / "mess.csv").open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerows(rows)
    book = Workbook()
    for number, row in enumerate(rows, 1):
        for column, text in enumerate(row, 1):
            book.active.cell(number, column, text).data_type = "s"
    book.save(tmp_path / "book.xlsx")
    with closing(sqlite3.connect(tmp_path / "base.db")) as base:
        base.execute(f"create table visits ({', '.join(quoted(name) for name in rows[0])})")
        base.executemany(f"insert into visits values ({', '.join('?' * len(rows[0]))})", rows[1:])  # noqa: S608
        base.commit()
    records = [dict(zip(rows[0], row, strict=True)) for row in rows[1:]]
    (tmp_path / "records.json").write_text(json.dumps(records), encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("VISIT_BRIDGE_PRACTICE", raising=False)
    return tmp_path


def quoted(name: str) -> str:
    return '"' + name.replace('"', '""') + '"'


def run(*args: str) -> Result:
    return CliRunner().invoke(main, [str(arg) for arg in args])


def at(heading: str, row: int) -> str:
    from openpyxl.utils import get_column_letter

    with Path("mess.csv").open(encoding="utf-8", newline="") as stream:
        return f"{get_column_letter(next(csv.reader(stream)).index(heading) + 1)}{row}"


@pytest.mark.parametrize("source", ["mess.csv", "book.xlsx", "base.db", "records.json"])
def test_each_issue_stands_at_its_cell_and_on_the_list(here: Path, source: str) -> None:
    before = (here / source).read_bytes()
    result = run("check", source, "--mark", "marked.xlsx", "--json")
    assert result.exit_code == 1
    assert (here / source).read_bytes() == before
    issues = json.loads(result.stdout)["issues"]
    book = load_workbook("marked.xlsx")
    assert book.sheetnames[0] == "To do"
    sheet = next(book[name] for name in book.sheetnames if name not in ("To do", "Words", "Meanings"))
    told = notes(sheet)
    for heading, row, rule in [("R wax", 2, "M101"), ("R wax", 3, "M101"), ("L drum", 3, "M102"), ("Date", 4, "R104")]:
        assert f"({rule})" in told[at(heading, row)]
        apart = source in ("base.db", "records.json")
        assert any(i["rule"] == rule and i["where"]["row"] == row - apart for i in issues)
    places = {(i["where"]["row"], i["where"]["column"]) for i in issues if i["where"]["row"]}
    assert len(told) == len({(row, column or 1) for row, column in places})
    listed = [[c.value for c in row] for row in book["To do"].iter_rows()]
    assert sorted(row[3] for row in listed if row[0] in ("ERROR", "CHECK", "NOTE")) == sorted(i["rule"] for i in issues)
    assert sheet[at("R canal", 5)].value == "=1+1"
    assert sheet[at("R canal", 5)].data_type == "s"
    words = [row[1].value for row in book["Words"].iter_rows()]
    assert [w for w in words if w in ("zoggy", "przf", "AS dull")] == ["zoggy", "przf", "AS dull"]


def test_standard_input_is_marked_too(here: Path) -> None:
    given = (here / "mess.csv").read_bytes()
    result = CliRunner().invoke(main, ["check", "-", "--mark", "marked.xlsx", "-q"], input=given)
    assert result.exit_code == 1
    book = load_workbook("marked.xlsx")
    assert "(M101)" in notes(book["Rows"])[at("R wax", 2)]
    links = {c.hyperlink.location.partition("!")[0] for row in book["To do"].iter_rows() for c in row if c.hyperlink}
    assert links == {"'Rows'"}


def test_a_marked_copy_that_was_mended_can_be_read(here: Path) -> None:
    run("check", "book.xlsx", "--mark", "marked.xlsx")
    again = run("check", "marked.xlsx", "--mark", "again.xlsx", "--json")
    first = json.loads(run("check", "book.xlsx", "--json").stdout)["issues"]
    second = json.loads(again.stdout)["issues"]
    told = [i for i in second if i["rule"] != "R146"]
    assert [(i["rule"], i["where"]["row"]) for i in told] == [(i["rule"], i["where"]["row"]) for i in first]
    book = load_workbook("again.xlsx")
    assert len([name for name in book.sheetnames if name.startswith(("To do", "Words", "Meanings"))]) == 3


def test_a_copy_is_private(here: Path) -> None:
    run("check", "mess.csv", "--mark", "marked.xlsx", "--words", "words.csv")
    if os.name == "posix":
        assert {stat.S_IMODE((here / name).stat().st_mode) for name in ("marked.xlsx", "words.csv")} == {0o600}


def test_several_sources_go_into_a_folder(here: Path) -> None:
    visit = next((here / "visits").glob("*.yaml"))
    result = run("check", "mess.csv", "ears-2026.csv", str(visit), "--mark", "marked", "-q")
    assert result.exit_code == 1
    assert sorted(p.name for p in (here / "marked").iterdir()) == [
        "ears-2026.marked.xlsx", "mess.marked.xlsx", "to-do.xlsx",
    ]  # fmt: skip
    summary = load_workbook(here / "marked" / "to-do.xlsx")
    assert summary.sheetnames == ["To do", "Words", "Meanings"]
    links = {c.hyperlink.target for row in summary["To do"].iter_rows() for c in row if c.hyperlink}
    assert "mess.marked.xlsx" in links <= {"mess.marked.xlsx", "ears-2026.marked.xlsx"}
    assert "Words" not in load_workbook(here / "marked" / "mess.marked.xlsx").sheetnames


def test_visit_files_get_a_list_alone(here: Path) -> None:
    visit = sorted((here / "visits").glob("*.yaml"))[0]
    visit.write_text(visit.read_text(encoding="utf-8").replace("number:", "nmber:", 1), encoding="utf-8")
    assert run("check", str(visit), "--mark", "to-do.xlsx").exit_code == 1
    book = load_workbook("to-do.xlsx")
    assert book.sheetnames == ["To do", "Words"]
    assert "ERROR" in [row[0].value for row in book["To do"].iter_rows()]


def test_the_same_bytes_each_time(here: Path) -> None:
    made = []
    for name in ("one.xlsx", "two.xlsx"):
        run("check", "book.xlsx", "--mark", name, "--words", f"words-{name}")
        made.append(((here / name).read_bytes(), (here / f"words-{name}").read_bytes()))
    assert made[0] == made[1]


@pytest.mark.parametrize(
    "line",
    [
        "check mess.csv ears-2026.csv --mark marked.xlsx",
        "check mess.csv --mark marked.pdf",
        "check mess.csv --mark marked.xlsm",
        "check mess.csv --words words.docx",
        "check mess.csv --mark a.xlsx --words a.xlsx",
        "check b.json --words words.csv",
    ],
)
def test_wrong_use(here: Path, line: str) -> None:
    (here / "b.json").write_text('{"resourceType": "Patient"}', encoding="utf-8")
    before = sorted(here.iterdir())
    assert run(*line.split()).exit_code == 2
    assert sorted(here.iterdir()) == before


@pytest.mark.parametrize("option", ["--mark", "--words"])
@pytest.mark.parametrize("name", ["book.xlsx", "theirs.xlsx", "answered.xlsx", "linked.xlsx"])
def test_what_is_theirs_is_never_written_over(here: Path, name: str, option: str) -> None:
    Workbook().save("theirs.xlsx")
    run("check", "mess.csv", option, "answered.xlsx")
    answered = load_workbook("answered.xlsx")
    answered["Words"]["G9"] = "heavy"
    answered.save("answered.xlsx")
    (here / "linked.xlsx").symlink_to(here / "theirs.xlsx")
    before = (here / name).read_bytes()
    result = run("check", "book.xlsx", option, name)
    assert result.exit_code == 3
    assert name in result.output
    assert (here / name).read_bytes() == before


def test_an_answered_csv_is_never_written_over(here: Path) -> None:
    assert run("check", "mess.csv", "--words", "words.csv").exit_code == 1
    assert run("check", "mess.csv", "--words", "words.csv").exit_code == 1
    path = here / "words.csv"
    path.write_text(path.read_text(encoding="utf-8-sig").replace(",,,,,wax-amount", ",heavy,,,,wax-amount"), "utf-8")
    before = path.read_bytes()
    assert run("check", "mess.csv", "--words", "words.csv").exit_code == 3
    assert path.read_bytes() == before


def test_ours_is_written_again(here: Path) -> None:
    for _ in range(2):
        assert run("check", "mess.csv", "--mark", "marked.xlsx", "--words", "words.xlsx").exit_code == 1
    assert {p.name for p in here.iterdir()} >= {"marked.xlsx", "words.xlsx"}


def test_no_client_stands_on_the_sheet_of_words(here: Path) -> None:
    run("check", "mess.csv", "ears-2026.csv", "--words", "words.csv")
    told = (here / "words.csv").read_text(encoding="utf-8-sig").casefold()
    with (here / "mess.csv").open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    for row in rows:
        for heading in ("Surname", "First name", "Date of birth", "NHS number", "Address", "Phone", "Client no"):
            assert not row[heading] or row[heading].casefold() not in told


def test_a_bundle_gets_a_list(here: Path) -> None:
    (here / "b.json").write_text('{"resourceType": "Patient", "gender": "f"}', encoding="utf-8")
    assert run("check", "b.json", "--mark", "to-do.xlsx").exit_code == 1
    assert load_workbook("to-do.xlsx").sheetnames[0] == "To do"
