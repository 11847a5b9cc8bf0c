"""What is written in a language that nobody has reviewed is a draft, says so, and is never silent about it (D174)."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from bridge.cli import main
from bridge.data import mappings_root
from bridge.issues import rule_of
from bridge.practice.practice_yaml import read_settings
from bridge.wording import languages
from tests.wording.pseudo import TAG, pseudo, pseudo_language

DEMO = mappings_root() / "demo"
VISIT = "M26-0110"
"""Approved, without a red flag."""


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    for name in ("practice.yaml", "doctors.csv"):
        shutil.copy(DEMO / name, tmp_path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("VISIT_BRIDGE_PRACTICE", raising=False)
    with pseudo_language(monkeypatch):
        yield tmp_path


def converted(setting: str) -> tuple[dict[str, Any], dict[str, Any], str]:
    """The report, the Composition and the page of the demo's visit."""
    with Path("practice.yaml").open("a", encoding="utf-8") as stream:
        stream.write(setting)
    args = ["convert", str(DEMO / "visits" / f"{VISIT}.yaml"), "--letters", "--report", "json"]
    report: dict[str, Any] = json.loads(CliRunner().invoke(main, args).stdout)
    (bundle,) = (p for p in Path("bundles").glob(f"{VISIT}*.json"))
    (page,) = Path(".").glob("**/*.html")
    return report, json.loads(bundle.read_text())["entry"][0]["resource"], page.read_text(encoding="utf-8")


def told(report: dict[str, Any]) -> list[str]:
    return [i["severity"] for i in report["issues"] if i["rule"] == "D174"]


def test_an_approved_record_becomes_a_draft_and_every_page_says_why(here: Path) -> None:
    report, letter, page = converted(f"\nlanguage: {TAG}\n")
    assert told(report) == ["warning"]
    assert (letter["language"], letter["status"], "attester" in letter) == (f"{TAG}-GB", "preliminary", False)
    assert pseudo().words["mark.not_reviewed"] in page
    assert pseudo().words["mark.draft"] in page


@pytest.mark.parametrize("setting", ["", "\nlanguage: en\n"])
def test_a_reviewed_language_holds_nothing_back(setting: str, here: Path) -> None:
    report, letter, page = converted(setting)
    assert told(report) == []
    assert (letter["language"], letter["status"]) == ("en-GB", "final")
    assert "reviewed" not in page


@pytest.mark.parametrize("language", ["tlh", "en-GB", "../en", "3", "EN"])
def test_a_language_without_a_catalogue_is_refused(language: str) -> None:
    text = (DEMO / "practice.yaml").read_text(encoding="utf-8") + f"\nlanguage: {language}\n"
    practice, issues = read_settings(text.encode())
    assert practice is None
    assert [i.rule for i in issues] == ["R304"]


def test_a_language_that_is_listed_is_taken() -> None:
    for tag in languages():
        practice, issues = read_settings((DEMO / "practice.yaml").read_bytes() + f"\nlanguage: {tag}\n".encode())
        assert practice is not None
        assert practice.language == tag
        assert issues == []


def test_the_rule_has_its_page() -> None:
    page = rule_of("D174")
    assert page is not None
    assert page.title.startswith("Approval held back")
