"""What visit-bridge wrote beside records is told as that and read as nothing; each by the command that writes it."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from bridge.cli import main
from bridge.own_files import is_own

DEMO = Path(__file__).parents[2] / "mappings/demo"
COMMANDS = (
    ("audit run visits-2026.csv --csv made/found.csv", "found.csv"),
    ("audit figures visits-2026.csv --to made/figures.json", "figures.json"),
    ("audit roll-up made/figures.json --csv made/all.csv", "all.csv"),
    ("audit sample 9 visits-2026.csv --seed a --to made/again.xlsx", "again.xlsx"),
    ("audit agree made/again.xlsx --csv made/differences.csv", "differences.csv"),
    ("audit changes shipped . visits-2026.csv --csv made/changes.csv", "changes.csv"),
    ("check visits-2026.csv --report csv", "report.csv"),
    ("handover C-1001 visits-2026.csv --plain --unsigned --to made", "C-1001-handover/words.csv"),
    ("handover C-1001 visits-2026.csv --plain --unsigned --to made --replace", "C-1001-handover/manifest.json"),
    ("handover C-1001 visits-2026.csv --passphrase --unsigned --to made", "C-1001-handover.how-to-open.txt"),
)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    shutil.copytree(DEMO, tmp_path, dirs_exist_ok=True)
    (tmp_path / "terms").mkdir()
    (tmp_path / "made").mkdir()
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("VISIT_BRIDGE_PASSPHRASE", "five invented words of ours")
    return tmp_path


def test_what_was_written_is_no_record(folder: Path) -> None:
    before = json.loads(CliRunner().invoke(main, ["check", ".", "--json"]).stdout)
    for words, name in COMMANDS:
        result = CliRunner().invoke(main, words.split())
        assert result.exit_code in (0, 1), (words, result.output)
        if name == "report.csv":
            (folder / "made" / name).write_text(result.stdout, encoding="utf-8")
        assert is_own(folder / "made" / name), name
    after = json.loads(CliRunner().invoke(main, ["check", ".", "--json"]).stdout)
    assert after["figures"]["visits"] == before["figures"]["visits"]
    assert [i["rule"] for i in after["issues"]].count("R154") == [i["rule"] for i in before["issues"]].count("R154")


def test_deidentified_visits_do_not_count_twice(folder: Path) -> None:
    before = json.loads(CliRunner().invoke(main, ["audit", "run", ".", "--json"]).stdout)
    words = ["deidentify", "visits-2026.csv", "--to", "course", "--for", "audit", "--once"]
    assert CliRunner().invoke(main, words).exit_code == 0
    after = CliRunner().invoke(main, ["audit", "run", ".", "--json"]).stdout
    assert json.loads(after)["records"] == before["records"]
    assert "1 de-identified folder." in after
    named = json.loads(CliRunner().invoke(main, ["audit", "run", "course", "--json"]).stdout)
    assert named["records"] == 8, "nine files, of which one is of a version that another replaces"
    (folder / "course/read-me-first.txt").write_text("A note of somebody else.", encoding="utf-8")
    counted = json.loads(CliRunner().invoke(main, ["audit", "run", ".", "--json"]).stdout)
    assert counted["records"] == before["records"] + 8, "another's folder is looked into"


def test_a_sheet_that_somebody_filled_is_known_under_their_name(folder: Path) -> None:
    for words in ("audit sample 9 visits-2026.csv --seed a --to made/again.xlsx", "check . --words made/words.xlsx -q"):
        CliRunner().invoke(main, words.split())
    for name, other in (("again.xlsx", "bell.xlsx"), ("words.xlsx", "of bell.xlsx")):
        (folder / "made" / name).rename(folder / other)
        assert is_own(folder / other), name
    (folder / "broken.xlsx").write_bytes(b"PK\x03\x04 no workbook")
    assert not is_own(folder / "broken.xlsx")
    assert not is_own(folder / "home-visits-2026.xlsx")


def test_public_keys_are_no_record(folder: Path) -> None:
    before = json.loads(CliRunner().invoke(main, ["audit", "run", ".", "--json"]).stdout)
    for words in ("keys make", "keys show --to our-keys.json"):
        assert CliRunner().invoke(main, words.split()).exit_code == 0
    after = json.loads(CliRunner().invoke(main, ["audit", "run", ".", "--json"]).stdout)
    assert after["records"] == before["records"]
    assert "S101" not in [one["rule"] for one in after["issues"]]


def test_records_are_no_results() -> None:
    assert [path.name for path in DEMO.rglob("*") if path.is_file() and is_own(path)] == []
