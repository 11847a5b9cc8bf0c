"""One file that cannot be read, or one layout that is not finished, never stops the others."""

from __future__ import annotations

import json
import os
import shutil
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from bridge.cli import main
from tests.remake import ROOT

DRAFT = "name: half done\nrows: ask\ncolumns: {A: ask}\n"


@pytest.fixture
def practice(tmp_path: Path) -> Path:
    folder = tmp_path / "practice"
    shutil.copytree(ROOT / "mappings/demo", folder)
    shutil.copytree(ROOT / "mappings/layouts", folder / "layouts")
    return folder


@pytest.fixture
def records(tmp_path: Path) -> Path:
    folder = tmp_path / "records"
    folder.mkdir()
    shutil.copyfile(ROOT / "mappings/demo/visits-2026.csv", folder / "visits-2026.csv")
    return folder


def run(*line: str) -> tuple[int, Any]:
    result = CliRunner().invoke(main, [*line, "--json"])
    return result.exit_code, json.loads(result.stdout) if result.stdout.startswith("{") else result.stderr


def rules(report: Any) -> dict[str, str]:
    return {i["rule"]: i["where"]["file"] for i in report["issues"] if i["rule"] in ("R154", "R218")}


@pytest.mark.parametrize(
    ("name", "content"),
    [("aaa.csv", b""), ("zzz.csv", b"item,price\noil,3\n"), ("book.xlsx", b"%PDF-1.7\n"), ("b.json", b'{"a": [')],
)
def test_the_others_go_on(name: str, content: bytes, records: Path, practice: Path, tmp_path: Path) -> None:
    (records / name).write_bytes(content)
    code, report = run("convert", str(records), "--practice", str(practice), "--to", str(tmp_path / "out"))
    assert code == 1
    assert rules(report) == {"R154": name}
    assert report["figures"]["ready"] == 7
    assert len(list((tmp_path / "out").glob("*.bundle.json"))) == 7


def test_a_single_one_ends_the_run(records: Path, practice: Path, tmp_path: Path) -> None:
    (records / "prices.csv").write_text("item,price\noil,3\n", encoding="utf-8")
    line = ["check", str(records / "prices.csv"), "--practice", str(practice)]
    result = CliRunner().invoke(main, line, standalone_mode=True)
    assert result.exit_code == 3
    assert "No layout fits prices.csv" in result.output


def test_marks_are_written_for_the_others(records: Path, practice: Path, tmp_path: Path) -> None:
    (records / "prices.csv").write_text("item,price\noil,3\n", encoding="utf-8")
    marked = tmp_path / "marked"
    code, _ = run("check", str(records), "--practice", str(practice), "--mark", str(marked))
    assert code == 1
    assert sorted(p.name for p in marked.iterdir()) == ["to-do.xlsx", "visits-2026.marked.xlsx"]


def test_an_unfinished_layout_is_told_and_passed_over(records: Path, practice: Path, tmp_path: Path) -> None:
    (practice / "layouts" / "draft.yaml").write_text(DRAFT, encoding="utf-8")
    shutil.move(records / "visits-2026.csv", records / "other name.csv")
    code, report = run("convert", str(records), "--practice", str(practice), "--to", str(tmp_path / "out"))
    assert code == 0
    assert set(rules(report)) == {"R218"}
    assert report["figures"]["ready"] == 7


def test_an_unfinished_layout_is_named_where_no_other_fits(records: Path, practice: Path) -> None:
    (practice / "layouts" / "draft.yaml").write_text(DRAFT, encoding="utf-8")
    (records / "prices.csv").write_text("item,price\noil,3\n", encoding="utf-8")
    result = CliRunner().invoke(main, ["check", str(records / "prices.csv"), "--practice", str(practice)])
    assert result.exit_code == 3
    assert "draft.yaml cannot be used" in result.output
    assert "R220" in result.output


def test_a_pipe_in_a_folder_is_left_alone(records: Path, practice: Path, tmp_path: Path) -> None:
    if not hasattr(os, "mkfifo"):
        pytest.skip("this system has no named pipes")
    os.mkfifo(records / "f.csv")
    code, report = run("convert", str(records), "--practice", str(practice), "--to", str(tmp_path / "out"))
    assert code == 0
    assert [i["message"] for i in report["issues"] if i["rule"] == "R151"] == [
        "1 file was left alone: 1 pipes and the like."
    ]


def test_nothing_that_a_file_holds_moves_the_cursor(tmp_path: Path, practice: Path) -> None:
    sheet = tmp_path / "visits-\x1b]0;pwn\x07.csv"
    sheet.write_text("Visit no,Wax\x1b[2J\u202e\nV1,heavy\n", encoding="utf-8")
    for line in (["check"], ["convert", "--to", str(tmp_path / "out")], ["layout", "draft"], ["layout", "check"]):
        told = CliRunner().invoke(main, [*line, str(sheet), "--practice", str(practice)]).output
        assert told
        assert not any(c in told for c in "\x1b\x07\u202e"), line
