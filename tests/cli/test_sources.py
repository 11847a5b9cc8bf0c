"""`convert` and `check` with folders, patterns, standard input and every kind of file, as a person types them."""

from __future__ import annotations

import json
import os
import shutil
import stat
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from bridge.cli import main
from bridge.cli.sources import STANDARD_INPUT, sources_named
from tests.read.books import OTHER_FORMS, grid_of

DEMO = Path(__file__).parents[2] / "mappings/demo"


@pytest.fixture
def records(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of records in several forms, and the demo's practice beside it."""
    monkeypatch.chdir(tmp_path)
    folder = tmp_path / "records"
    shutil.copytree(DEMO / "visits", folder / "yaml")
    shutil.copy(DEMO / "ears-2026.csv", folder)
    grid = grid_of(plain(DEMO / "visits-2026.csv"))
    OTHER_FORMS["workbook"][1](folder / "visits-2026.xlsx", grid)
    (folder / "~$visits-2026.xlsx").touch()
    return folder


def plain(path: Path) -> str:
    text = path.read_text(encoding="utf-8")
    return "".join(line for line in text.splitlines(keepends=True) if not line.startswith("#"))


def run(*args: str | Path, given: bytes = b"") -> Result:
    return CliRunner().invoke(main, [*map(str, args), "--practice", str(DEMO)], input=given)


def figures(result: Result) -> dict[str, int]:
    found: dict[str, int] = json.loads(result.stdout)["figures"]
    return found


def test_a_folder_is_the_files_in_it(records: Path) -> None:
    result = run("check", records, "--json")
    one_by_one = run("check", *sorted(DEMO.glob("*2026.csv")), *sorted(DEMO.glob("visits/*")), "--json")
    assert figures(result)["visits"] == figures(one_by_one)["visits"]
    assert figures(result)["ready"] == figures(one_by_one)["ready"] > 0
    assert "R140" in {i["rule"] for i in json.loads(result.stdout)["issues"]}


def test_the_documents_are_the_same_from_every_form(records: Path) -> None:
    """But for the hash of the record, which is that of its headings and cells: the same in a workbook and in CSV."""
    run("convert", DEMO / "visits-2026.csv", "--to", "csv")
    run("convert", "records/*.xlsx", "--to", "xlsx")
    made = {path.name: path.read_bytes() for path in Path("csv").iterdir()}
    assert made
    assert made == {path.name: path.read_bytes() for path in Path("xlsx").iterdir()}


@pytest.mark.parametrize("form", ["csv", *OTHER_FORMS, "yaml"])
def test_standard_input_in_every_form(form: str, tmp_path: Path) -> None:
    text = plain(DEMO / "visits-2026.csv")
    if form == "yaml":
        content = (DEMO / "visits/M26-0110.yaml").read_bytes()
    elif form == "csv":
        content = text.encode()
    else:
        name, write = OTHER_FORMS[form]
        content = write(tmp_path / name, grid_of(text)).read_bytes()
    result = run("check", "-", "--json", given=content)
    source = DEMO / ("visits/M26-0110.yaml" if form == "yaml" else "visits-2026.csv")
    assert figures(result) == figures(run("check", source, "--json"))
    assert figures(result)["visits"] > 0
    assert {r["where"]["file"] for r in json.loads(result.stdout)["records"]} == {STANDARD_INPUT}


def test_a_document_from_standard_input_is_a_document(records: Path) -> None:
    run("convert", records / "yaml/M26-0110.yaml", "--to", "out")
    content = next(Path("out").glob("*.json")).read_bytes()
    result = run("check", "-", "--json", given=content)
    assert (result.exit_code, figures(result)) == (0, {"documents checked": 1})
    refused = run("convert", "-", given=content)
    assert refused.exit_code == 3
    assert "is a FHIR document" in refused.stderr


def test_standard_input_is_kept_privately_and_not_for_long(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))

    class Stdin:
        buffer = (DEMO / "ears-2026.csv").open("rb")

    monkeypatch.setattr("sys.stdin", Stdin)
    with sources_named([Path("-"), Path("-")]) as found:
        (path,) = found.paths
        assert path.name == STANDARD_INPUT
        if os.name == "posix":
            assert stat.S_IMODE(path.stat().st_mode) == 0o600
            assert stat.S_IMODE(path.parent.stat().st_mode) == 0o700
    Stdin.buffer.close()
    assert not path.exists()
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("command", ["convert", "check"])
def test_what_leads_nowhere_is_wrong_use(command: str, records: Path) -> None:
    Path("empty").mkdir()
    for name, told in (("empty", "no records in the folder"), ("*.odt", "No file fits the pattern")):
        result = run(command, name)
        assert result.exit_code == 2
        assert told in result.stderr
        assert "Traceback" not in result.output
    missing = run(command, "missing.csv")
    assert missing.exit_code == 3
    assert "There is no file missing.csv" in missing.stderr
    assert run(command, "-").exit_code == 3


def test_what_was_made_is_not_read_again(records: Path) -> None:
    run("convert", "records", "--to", "records/out", "--letters")
    assert list(Path("records/out").glob("*.html"))
    again = run("convert", "records", "--to", "records/out", "--json")
    assert figures(again)["need you"] == 0
    told = [i for i in json.loads(again.stdout)["issues"] if i["rule"] == "R151"]
    assert len(told) == 1
    assert "our own documents" in told[0]["message"]


@pytest.mark.parametrize("command", ["check", "convert"])
def test_what_cannot_be_read_is_told_without_a_practice(
    command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Somebody who mistypes a name is not sent to `setup`."""
    monkeypatch.chdir(tmp_path)
    Path("drum.png").write_bytes(b"\x89PNG\r\n\x1a\n")
    missing = CliRunner().invoke(main, [command, "no.json"])
    assert (missing.exit_code, missing.stderr.splitlines()[0]) == (3, "There is no file no.json.")
    both = CliRunner().invoke(main, [command, "no.json", "drum.png", "--json"])
    assert both.exit_code == 1
    assert [i["rule"] for i in json.loads(both.stdout)["issues"]] == ["R154", "R154"]


@pytest.mark.parametrize("args", [["check"], ["convert", "--format", "xml"]])
def test_documents_are_read_beside_what_cannot_be(
    args: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("a.json").write_text('{"resourceType": "Basic", "code": {"text": "a"}}', encoding="utf-8")
    result = CliRunner().invoke(main, [*args, "no.json", "a.json", "--json"])
    told = json.loads(result.stdout)
    assert (result.exit_code, {i["rule"] for i in told["issues"]}) == (1, {"R154", "V123"})
    assert set(told["figures"].values()) == {1}
