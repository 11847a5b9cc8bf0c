"""Tables that are kept: the same data as when they are read, made anew when they change or are damaged."""

from __future__ import annotations

import os
import time
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from bridge.data import load_yaml, mappings_root
from bridge.kept import KEPT_FOR, kept
from bridge.rule_file import read_rule_file, read_shipped

DATA = {"rules": [{"code": "C1", "reviewed": date(2026, 5, 6), "n": 1, "x": 1.5, "none": None, "yes": True}], "é": "ü"}


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("VISIT_BRIDGE_CACHE", str(tmp_path / "cache"))
    return tmp_path / "cache" / "tables"


def never() -> Any:
    raise AssertionError("made again")


def test_what_is_made_once_is_not_made_again() -> None:
    assert kept("table", b"one", lambda: DATA) == DATA
    again = kept("table", b"one", never)
    assert again == DATA
    assert type(again["rules"][0]["reviewed"]) is date


@pytest.mark.parametrize(("kind", "content"), [("rules", b"one"), ("table", b"two")])
def test_another_content_or_way_of_reading_is_another_table(kind: str, content: bytes) -> None:
    kept("table", b"one", lambda: 1)
    assert kept(kind, content, lambda: 2) == 2


@pytest.mark.parametrize("damage", [b"", b"{", b"[]", b"{}", b'{"days": [[["a"], "x"]], "data": {}}', b"\xff"])
def test_what_is_damaged_is_made_anew(damage: bytes, folder: Path) -> None:
    kept("table", b"one", lambda: DATA)
    (file,) = folder.iterdir()
    file.write_bytes(damage)
    assert kept("table", b"one", lambda: DATA) == DATA
    assert kept("table", b"one", never) == DATA


@pytest.mark.parametrize("value", [{1: "a"}, {"a": {2, 3}}, {"a": 1 << 70}])
def test_what_cannot_be_kept_is_made_each_time(value: Any, folder: Path) -> None:
    for _ in range(2):
        assert kept("table", b"one", lambda: value) == value
    assert not folder.exists() or list(folder.iterdir()) == []


def test_a_folder_that_cannot_be_used_costs_time_only(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("VISIT_BRIDGE_CACHE", str(tmp_path / "file"))
    assert kept("table", b"one", lambda: DATA) == DATA


@pytest.mark.skipif(os.name == "nt", reason="Windows knows no such modes")
def test_only_its_owner_may_read_it(folder: Path) -> None:
    kept("table", b"one", lambda: DATA)
    (file,) = folder.iterdir()
    assert (file.stat().st_mode & 0o077, folder.stat().st_mode & 0o077) == (0, 0)


def test_what_is_old_goes(folder: Path) -> None:
    kept("table", b"one", lambda: 1)
    (old,) = folder.iterdir()
    os.utime(old, (0, time.time() - KEPT_FOR - 60))
    kept("table", b"two", lambda: 2)
    assert not old.exists()


TABLES = sorted(mappings_root().rglob("*.yaml"))


@pytest.mark.parametrize("path", TABLES, ids=lambda p: str(p.relative_to(mappings_root())))
def test_every_shipped_table_is_kept_as_it_is_read(path: Path) -> None:
    first, again = load_yaml(path), load_yaml(path)
    assert again == first
    assert repr(again) == repr(first)


def test_clinical_rules_are_kept_as_they_are_read() -> None:
    paths = sorted((mappings_root() / "clinical").rglob("*.yaml"))
    assert len(paths) > 40
    for path in paths:
        read_shipped.cache_clear()
        first = read_shipped(path)
        read_shipped.cache_clear()
        assert repr(read_shipped(path)) == repr(first) == repr(read_rule_file(path))
    read_shipped.cache_clear()
