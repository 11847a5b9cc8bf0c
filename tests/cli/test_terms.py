"""`terms` shows meanings and codes."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from bridge.cli import main
from bridge.coding import load_term_maps
from bridge.data import table_path


def run(*args: str) -> Result:
    return CliRunner().invoke(main, ["terms", *args])


def test_find_shows_meaning_and_code() -> None:
    result = run("find", "impacted", "--kind", "wax-amount")
    assert result.exit_code == 0
    assert "wax-impacted, sct:18070006 Impacted cerumen" in result.output


def test_find_reads_doubt_and_leaves_out_fields_without_it() -> None:
    data = json.loads(run("find", "?perf", "--json").stdout)
    assert data["assertion"] == "suspected"
    kinds = {hit["field_kind"] for hit in data["exact"]}
    assert {"drum", "impression"} <= kinds
    assert "outcome-reason" not in kinds


def test_find_of_an_unknown_word_names_near_ones_and_ends_with_1() -> None:
    result = run("find", "perforasion")
    assert result.exit_code == 1
    assert "perforation" in result.output


def test_find_warns_of_shorthand() -> None:
    assert "two ways" in run("find", "AD").output


def test_find_uses_the_practices_own_words(tmp_path: Path) -> None:
    (tmp_path / "practice.yaml").write_text("clinic:\n  name: Millbrook Ear Care\n", encoding="utf-8")
    (tmp_path / "terms").mkdir()
    (tmp_path / "terms" / "own.csv").write_text(
        "kind,concept,label,words,codes,evidence,edition,note\ncontents,our-glitter,glitter,sparkle,,our clinic,1,\n",
        encoding="utf-8",
    )
    result = run("find", "sparkle", "--practice", str(tmp_path))
    assert result.exit_code == 0
    assert "no own code" in result.output
    assert run("find", "sparkle").exit_code == 1


@pytest.mark.parametrize("asked", ["wax-impacted", "18070006", "sct:18070006"])
def test_show_by_meaning_or_code(asked: str) -> None:
    result = run("show", asked)
    assert result.exit_code == 0
    assert "sct:18070006 Impacted cerumen" in result.output
    assert json.loads(run("show", asked, "--json").stdout)[0]["codings"][0]["code"] == "18070006"


def test_every_meaning_prints_within_80_columns() -> None:
    from bridge.cli.terms import _page

    for maps in (load_term_maps(), load_term_maps(licensed=True)):
        for concept in maps.concepts.values():
            assert max(map(len, _page(maps, concept))) <= 80


@pytest.fixture
def licensed(tmp_path: Path) -> str:
    settings = table_path("demo", "practice.yaml").read_text(encoding="utf-8")
    (tmp_path / "practice.yaml").write_text(settings + "\ncodes: licensed\n", encoding="utf-8")
    return str(tmp_path)


@pytest.mark.parametrize("asked", ["symptom-pain", "1010234007", "sct:1010233001"])
def test_show_tells_the_codes_of_each_ear_where_licensed_ones_are_chosen(asked: str, licensed: str) -> None:
    page = run("show", asked, "--practice", licensed).output
    assert "Codes     sct:16001004 Otalgia\n" in page
    assert "Right     sct:1010234007 Otalgia of right ear\n" in page
    assert "Left      sct:1010233001 Otalgia of left ear\n" in page
    data = json.loads(run("show", asked, "--practice", licensed, "--json").stdout)[0]
    assert {ear: codings[0]["code"] for ear, codings in data["by_ear"].items()} == {
        "right": "1010234007",
        "left": "1010233001",
    }


def test_find_shows_the_finer_code_where_licensed_ones_are_chosen(licensed: str) -> None:
    words = ("find", "osteoma", "--kind", "canal")
    assert "sct:277417007 External" in run(*words, "--practice", licensed).output
    assert "277417007" not in run(*words).output
    assert run("show", "277417007").exit_code == 2


def test_show_the_code_system() -> None:
    system = json.loads(run("show", "--code-system").stdout)
    assert system["resourceType"] == "CodeSystem"
    assert "wax-impacted" in {concept["code"] for concept in system["concept"]}


@pytest.mark.parametrize(
    "args", [("show",), ("show", "nope"), ("find", "x", "--kind", "nope"), ("show", "a", "--code-system")]
)
def test_wrong_use_ends_with_2(args: tuple[str, ...]) -> None:
    assert run(*args).exit_code == 2
