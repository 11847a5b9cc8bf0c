"""README, DEVELOPERS and CHANGELOG say what is so."""

from __future__ import annotations

import json
import re
import runpy
from fnmatch import fnmatch
from pathlib import Path
from typing import Any

import pytest

from bridge import __version__
from bridge.cli import COMMANDS

ROOT = Path(__file__).parents[1]
PLACES = re.compile(r"`((?:bridge|mappings|tests|demo_bundles)/[\w./-]*[\w/])`")


def text_of(name: str) -> str:
    return (ROOT / name).read_text(encoding="utf-8")


def test_the_changelog_knows_this_version_and_has_room_for_the_next() -> None:
    headings = re.findall(r"^## (.+)$", text_of("CHANGELOG.md"), re.MULTILINE)
    assert headings[:2] == ["Unreleased", __version__]


def test_the_readme_names_every_command_in_order() -> None:
    assert re.findall(r"^\| `(\w+)` \|", text_of("README.md"), re.MULTILINE) == list(COMMANDS)


def test_the_readme_has_the_lines_that_the_ci_runs() -> None:
    marked = text_of("README.md").partition("<!-- ci:test -->")[2].partition("<!-- /ci -->")[0]
    assert "pytest" in marked


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md", "CHANGELOG.md"])
def test_places_that_a_paper_names_exist(name: str) -> None:
    named = set(PLACES.findall(text_of(name)))
    assert {place for place in named if not (ROOT / place).exists()} == set()


def test_the_paper_of_the_tables_names_each_and_no_other() -> None:
    root, named = ROOT / "mappings", []
    for cell in re.findall(r"^\| (`.*?) \|", text_of("mappings/README.md"), re.MULTILINE):
        folder = ""
        for name in re.findall(r"`([^`]+)`", cell):
            folder = f"{name.rpartition('/')[0]}/" if "/" in name else folder
            named.append(name if "/" in name else folder + name)
    tables = [p.relative_to(root).as_posix() for p in root.rglob("*") if p.is_file() and p.name != "README.md"]
    assert [table for table in tables if not any(fnmatch(table, name) for name in named)] == []
    assert [name for name in named if not any(fnmatch(table, name) for table in tables)] == []


def test_the_lines_for_programs_run(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The first thing that they check is wrong on purpose, so that what they print can be seen."""
    lines = text_of("README.md").partition("```python\n")[2].partition("```")[0]
    received = '<Patient xmlns="http://hl7.org/fhir"><birthDate value="1950-02-30"/></Patient>'
    (tmp_path / "received.xml").write_text(received, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    bundle = json.loads(next(iter(sorted((ROOT / "demo_bundles").glob("*.bundle.json")))).read_bytes())
    told: list[tuple[Any, ...]] = []
    (tmp_path / "lines.py").write_text(lines, encoding="utf-8")
    given = {"bundle": bundle, "print": lambda *words: told.append(words)}
    names = runpy.run_path(str(tmp_path / "lines.py"), given)
    assert told[0][:2] == ("S108", "error")
    assert not names["valid"]
    assert names["issues"] == []
    assert len(names["visits"]) == 1
