"""A workbook of ours has the same bytes each time, and is known again until somebody changes it."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest
from openpyxl import Workbook, load_workbook

from bridge.marking.seal import may_replace, saved


def book() -> Workbook:
    made = Workbook()
    made.active["A1"] = "wax"
    return made


def test_the_same_bytes_whenever_it_is_made(monkeypatch: pytest.MonkeyPatch) -> None:
    import openpyxl.packaging.core as core

    first = book()
    first.properties.created = second_created = core.DocumentProperties().created
    one = saved(first)
    second = book()
    second.properties.created = second_created
    monkeypatch.setattr("time.localtime", lambda *_: (2040, 2, 3, 4, 5, 6, 0, 34, 0))
    assert saved(second) == one


def test_ours_as_it_was_written_may_be_replaced(tmp_path: Path) -> None:
    path = tmp_path / "a.xlsx"
    assert may_replace(path)
    path.write_bytes(saved(book()))
    assert may_replace(path)


def test_ours_with_a_changed_cell_may_not(tmp_path: Path) -> None:
    path = tmp_path / "a.xlsx"
    path.write_bytes(saved(book()))
    changed = load_workbook(path)
    changed.active["A1"] = "no wax"
    changed.save(path)
    assert not may_replace(path)


def test_ours_again_after_marking_a_copy_of_ours(tmp_path: Path) -> None:
    path = tmp_path / "a.xlsx"
    path.write_bytes(saved(book()))
    path.write_bytes(saved(load_workbook(path)))
    assert may_replace(path)


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04 broken", b"words,more\n"])
def test_no_workbook_may_not(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "a.xlsx"
    path.write_bytes(content)
    assert not may_replace(path)


def test_a_workbook_of_somebody_else_may_not(tmp_path: Path) -> None:
    path = tmp_path / "a.xlsx"
    book().save(path)
    assert not may_replace(path)


def test_a_seal_that_was_carried_into_another_workbook_says_nothing(tmp_path: Path) -> None:
    path = tmp_path / "a.xlsx"
    with zipfile.ZipFile(io.BytesIO(saved(book()))) as ours, zipfile.ZipFile(path, "w") as other:
        other.writestr("docProps/custom.xml", ours.read("docProps/custom.xml"))
        other.writestr("xl/workbook.xml", "<workbook/>")
    assert not may_replace(path)
