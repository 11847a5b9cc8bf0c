"""Finding and loading the practice folder."""

from __future__ import annotations

from pathlib import Path

import pytest

from bridge.errors import SettingsError
from bridge.practice import find_practice, load_practice
from bridge.practice.zones import system_zone

GOOD = (Path(__file__).parent / "good.yaml").read_text(encoding="utf-8")


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A practice folder with a blank and an accent in its name; the environment names none."""
    monkeypatch.delenv("VISIT_BRIDGE_PRACTICE", raising=False)
    made = tmp_path / "Praxis Zoë"
    made.mkdir()
    (made / "practice.yaml").write_text(GOOD, encoding="utf-8")
    (made / "doctors.csv").write_text("key,practice\nA,Alpha Practice\n", encoding="utf-8")
    return made


def test_the_named_folder_or_file_wins(folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("VISIT_BRIDGE_PRACTICE", str(tmp_path / "other"))
    assert find_practice(folder) == folder
    assert find_practice(folder / "practice.yaml") == folder


def test_then_the_environment(folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("VISIT_BRIDGE_PRACTICE", str(folder))
    assert find_practice() == folder


def test_then_upwards_from_here(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    deep = folder / "records" / "2026"
    deep.mkdir(parents=True)
    monkeypatch.chdir(deep)
    assert find_practice().resolve() == folder.resolve()


def test_says_where_it_looked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("VISIT_BRIDGE_PRACTICE", raising=False)
    monkeypatch.chdir(tmp_path)
    with pytest.raises(SettingsError) as none:
        find_practice()
    assert "setup" in none.value.help
    with pytest.raises(SettingsError):
        find_practice(tmp_path)
    monkeypatch.setenv("VISIT_BRIDGE_PRACTICE", str(tmp_path))
    with pytest.raises(SettingsError, match="VISIT_BRIDGE_PRACTICE"):
        find_practice()


def test_loads_settings_and_address_book(folder: Path) -> None:
    practice, issues = load_practice(folder)
    assert issues == []
    assert practice is not None
    assert practice.doctors.find("alpha practice")[0].key == "A"


def test_the_address_book_may_be_missing(folder: Path) -> None:
    (folder / "doctors.csv").unlink()
    practice, issues = load_practice(folder)
    assert issues == []
    assert practice is not None
    assert practice.doctors.rows == ()


def test_problems_of_both_files_come_together(folder: Path) -> None:
    (folder / "practice.yaml").write_text(GOOD.replace("region: uk", "region: mars"), encoding="utf-8")
    (folder / "doctors.csv").write_text("key,practice\nA\n", encoding="utf-8")
    practice, issues = load_practice(folder)
    assert practice is None
    assert [(i.rule, i.where.file) for i in issues] == [("R304", "practice.yaml"), ("R321", "doctors.csv")]


def test_a_folder_without_settings_cannot_be_loaded(tmp_path: Path) -> None:
    with pytest.raises(SettingsError):
        load_practice(tmp_path)


def test_the_computers_zone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("TZ", raising=False)
    assert system_zone(tmp_path) is None
    (tmp_path / "timezone").write_text("Europe/Paris\n", encoding="ascii")
    assert system_zone(tmp_path) == "Europe/Paris"
    (tmp_path / "timezone").write_text("Etc/UTC\n", encoding="ascii")
    assert system_zone(tmp_path) is None
    monkeypatch.setenv("TZ", ":America/Nowhere")
    assert system_zone(tmp_path) is None
    monkeypatch.setenv("TZ", "Pacific/Auckland")
    assert system_zone(tmp_path) == "Pacific/Auckland"
