"""`visit-bridge deidentify` over the demo's records: nothing of its clients in any form of the files.

What identifies a client of the demo is gathered here from the visits as they are read, field by field.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import stat
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from bridge.check import check_bundle
from bridge.cli import main
from bridge.issues import Severity
from bridge.pipeline import Converter
from bridge.practice import load_practice
from bridge.visit import Visit
from tests.deidentify.kinds import TYPES
from tests.fields import pattern, recorded

DEMO = Path(__file__).parents[2] / "mappings/demo"
FORMS = ("yaml", "ndjson", "bundles")


@cache
def demo_visits() -> tuple[Visit, ...]:
    practice, issues = load_practice(DEMO)
    assert practice is not None
    converter = Converter(practice, DEMO, issues)
    sources = [DEMO / "visits-2026.csv", *sorted((DEMO / "visits").glob("*.yaml"))]
    found = [reading.visit for source in sources for reading in converter.readings(source, None)]
    return tuple(converter.prepare(visit)[0] for visit in found if visit)


@cache
def identifying() -> frozenset[str]:
    """Names, numbers, streets, towns, postcodes, telephones, keys, birth dates of the demo, of three letters up."""
    found: set[str] = set()
    for visit in demo_visits():
        found.add(visit.number)
        if visit.client.birth_date:
            found.add(visit.client.birth_date)
        for path, of in recorded(visit):
            row = pattern(path)
            if (
                of is not str
                or TYPES[row][1]
                or not row.startswith(("client", "clinic", "practitioners", "family_doc"))
            ):
                continue
            node: Any = visit.model_dump()
            for step in path.replace("[", ".").replace("]", "").split("."):
                node = node[int(step)] if step.isdigit() else node[step]
            if not row.endswith(
                (".relationship", ".role", ".register_key", ".prefix", ".language", ".country", ".hours")
            ):
                found.update(
                    {node} | ({*re.findall(r"[^\W\d_]{4,}", node)} if "_name" in row or ".name." in row else set())
                )
    return frozenset(text for text in found if len(text) > 2)


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("VISIT_BRIDGE_PRACTICE", raising=False)
    for name in ("practice.yaml", "doctors.csv", "visits-2026.csv"):
        shutil.copy(DEMO / name, name)
    shutil.copytree(DEMO / "visits", "visits")
    return tmp_path


def run(*words: str, code: int = 0) -> Result:
    result = CliRunner().invoke(main, ["deidentify", *words])
    assert result.exit_code == code, result.output
    return result


def whole(folder: Path) -> str:
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    return "\n".join(f"{path.name}\n{path.read_text(encoding='utf-8')}" for path in files)


def found_in(text: str) -> set[str]:
    return {one for one in identifying() if one in text and re.search(rf"(?<!\w){re.escape(one)}(?!\w)", text)}


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("purpose", ["teaching", "audit"])
def test_nothing_of_the_demos_clients_comes_out(here: Path, purpose: str, form: str) -> None:
    assert len(identifying()) > 100
    said = run("visits-2026.csv", "visits", "--to", "out", "--for", purpose, "--as", form).output
    text = whole(here / "out")
    assert found_in(Path("visits-2026.csv").read_text(encoding="utf-8"))  # the search finds what is there
    assert found_in(text) == set()
    assert found_in(said) - {"visits"} == set()
    assert {"D240", "D242", "D243"} <= {*re.findall(r"D2\d\d", said)}
    assert "not legal advice" in (here / "out/read-me-first.txt").read_text(encoding="utf-8").replace("\n", " ")
    assert str(here) not in text


def test_where_nothing_came_out_nobody_is_sent_to_a_folder(here: Path) -> None:
    said = run("practice.yaml", "--to", "out", "--for", "audit", "--once", code=1).output
    assert not (here / "out").exists()
    assert "D240" not in said
    assert "read-me-first" not in said


def test_as_many_visits_come_out_as_went_in(here: Path) -> None:
    figures = json.loads(run("visits-2026.csv", "visits", "--to", "out", "--for", "teaching", "--json").output)[
        "figures"
    ]
    assert figures["visits"] == figures["visits written"] == len(demo_visits())
    assert len(list((here / "out/visits").iterdir())) == len(demo_visits())


def test_check_reads_what_came_out(here: Path) -> None:
    run("visits-2026.csv", "--to", "out", "--for", "teaching")
    said = CliRunner().invoke(main, ["check", "out/visits", "--json"])
    data = json.loads(said.output)
    assert data["figures"]["visits"] == len(list((here / "out/visits").iterdir()))
    assert {found["rule"] for found in data["issues"] if found["severity"] == "error"} <= {
        "R330"
    }  # practitioners that no settings know


def test_bundles_hold_to_the_standard(here: Path) -> None:
    run("visits-2026.csv", "--to", "out", "--for", "teaching", "--as", "bundles")
    for path in (here / "out/visits").iterdir():
        data = json.loads(path.read_bytes())
        assert [i.message for i in check_bundle(data) if i.severity >= Severity.error] == []
    run("out/visits", "--to", "again", "--for", "audit")
    assert len(list((here / "again/visits").iterdir())) == len(list((here / "out/visits").iterdir()))


def test_bundles_go_in_as_records_do(here: Path) -> None:
    assert CliRunner().invoke(main, ["convert", "visits-2026.csv", "--to", "letters"]).exit_code in (0, 1)
    run("letters", "--to", "out", "--for", "teaching")
    assert list((here / "out/visits").iterdir())
    assert found_in(whole(here / "out")) == set()


def test_a_key_of_the_practice_makes_the_same_again(here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("VISIT_BRIDGE_PSEUDONYM_KEY", "11" * 32)
    for name in ("one", "two"):
        run("visits-2026.csv", "--to", name, "--for", "teaching")
    run("visits-2026.csv", "--to", "once", "--for", "teaching", "--once")
    run("visits-2026.csv", "--to", "audit", "--for", "audit")
    names = {name: {path.name for path in Path(name, "visits").iterdir()} for name in ("one", "two", "once", "audit")}
    assert whole(here / "one") == whole(here / "two")
    assert not names["one"] & names["once"]
    assert not names["one"] & names["audit"]
    assert "11" * 32 not in whole(here / "one")


def test_a_key_that_could_be_guessed_is_refused(here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("VISIT_BRIDGE_PSEUDONYM_KEY", "willow")
    result = CliRunner().invoke(main, ["deidentify", "visits-2026.csv", "--to", "out", "--for", "teaching"])
    assert result.exit_code == 3
    assert "guessed" in result.output
    assert "willow" not in result.output
    assert not Path("out").exists()


def test_without_a_key_no_two_runs_are_alike(here: Path) -> None:
    for name in ("one", "two"):
        run("visits-2026.csv", "--to", name, "--for", "teaching")
    names = [{path.name for path in Path(name, "visits").iterdir()} for name in ("one", "two")]
    assert not names[0] & names[1]


def test_an_audit_has_years_alone_unless_asked(here: Path) -> None:
    run("visits-2026.csv", "--to", "out", "--for", "audit")
    assert not re.search(r"\b\d{4}-\d{2}", whole(here / "out"))


def test_free_text_only_on_request_and_not_for_an_audit(here: Path) -> None:
    run("visits-2026.csv", "visits", "--to", "without", "--for", "teaching")
    said = run("visits-2026.csv", "visits", "--to", "with", "--for", "teaching", "--with-text").output
    assert "D241" in said
    assert len(whole(here / "with")) > len(whole(here / "without"))
    assert found_in(whole(here / "with")) == set()
    run("visits-2026.csv", "--to", "out", "--for", "audit", "--with-text", code=2)


def test_a_folder_that_is_there_is_left_as_it_is(here: Path) -> None:
    Path("out").mkdir()
    result = CliRunner().invoke(main, ["deidentify", "visits-2026.csv", "--to", "out", "--for", "teaching"])
    assert result.exit_code != 0
    assert list(Path("out").iterdir()) == []


def test_a_folder_that_cannot_be_written_is_told_by_its_name(here: Path) -> None:
    Path("file").touch()
    said = run("visits-2026.csv", "--to", "file/out", "--for", "teaching", code=3).output
    assert "file/out cannot be written" in said
    assert ".part" not in said


@pytest.mark.skipif(os.name != "posix", reason="only POSIX knows who may read")
def test_only_the_owner_may_read_the_files(here: Path) -> None:
    run("visits-2026.csv", "--to", "out", "--for", "teaching")
    assert {stat.S_IMODE(path.stat().st_mode) & 0o077 for path in [Path("out"), *Path("out").rglob("*")]} == {0}


def test_rare_combinations_are_counted_by_the_wish(here: Path) -> None:
    few = run("visits-2026.csv", "--to", "one", "--for", "audit").output
    assert "fewer than 5 clients" in " ".join(few.split())
    more = run("visits-2026.csv", "--to", "two", "--for", "audit", "--small", "9").output
    assert "fewer than 9 clients" in " ".join(more.split())


def test_what_cannot_be_read_is_told(here: Path) -> None:
    Path("no.csv").write_text("a;b\n1;2\n")
    result = CliRunner().invoke(main, ["deidentify", "no.csv", "--to", "out", "--for", "teaching"])
    assert result.exit_code != 0
    assert not Path("out").exists()


def test_of_a_strangers_document_only_its_visits_come_out(here: Path) -> None:
    """What has no place in a visit is told (D245) and not written; neither are the stranger's names and numbers."""
    stranger = Path(__file__).parents[1] / "receive/foreign/ear_clinic.json"
    shutil.copy(stranger, "theirs.json")
    said = run("theirs.json", "--to", "out", "--for", "teaching").output
    assert "D245" in said
    data = json.loads(stranger.read_bytes())
    people = [e["resource"] for e in data["entry"] if e["resource"]["resourceType"] in ("Patient", "Practitioner")]
    names = {part for person in people for name in person.get("name", ()) for part in _parts(name)}
    numbers = {one["value"] for person in people for one in person.get("identifier", ())}
    assert names
    assert numbers
    text = whole(here / "out")
    assert not [one for one in names | numbers if re.search(rf"(?<!\w){re.escape(one)}(?!\w)", text)]


def _parts(name: dict[str, Any]) -> list[str]:
    return [*name.get("given", ()), *([name["family"]] if "family" in name else [])]
