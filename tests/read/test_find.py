"""Folders and patterns: which files are read, each once and in order, and which are left alone (R151)."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from bridge.errors import InputError
from bridge.read.find import NoSourceError, find_sources

LAYOUT = "name: x\nrows: visit\ncolumns:\n  a: number\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    root = tmp_path / "records"
    files = {
        "b.csv": "a\n1\n", "A/z.xlsx": "PK", "A/10.yaml": "number: 1\n", "A/deep/x.ndjson": '{"a": 1}\n',
        ".hidden.csv": "a",
        ".git/c.csv": "a", "~$b.csv": "", ".~lock.b.csv#": "", "layout.yaml": LAYOUT, "notes.pdf": "", "photo.JPG": "",
        "V1.bundle.json": '{"resourceType": "Bundle"}', "export.json": '{"resourceType": "Bundle"}',
        "b.marked.xlsx": "PK",
        "own/practice.yaml": "a: 1\n", "own/doctors.csv": "a\n", "own/layouts/l.yaml": LAYOUT, "own/terms/t.csv": "a\n",
        "own/v.csv": "a\n",
        "flat.json": '[{"a": 1}]', "noending": "a",
    }  # fmt: skip
    for name, content in files.items():
        path = root / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(content, encoding="utf-8")
    return root


def names(folder: Path, *given: str, documents: bool = False) -> list[str]:
    found = find_sources([folder / g if g else folder for g in given], documents=documents)
    return [p.relative_to(folder).as_posix() for p in found.paths]


def test_a_folder_is_walked_in_order_and_others_are_counted(folder: Path) -> None:
    assert names(folder, "") == ["b.csv", "flat.json", "A/10.yaml", "A/z.xlsx", "A/deep/x.ndjson", "own/v.csv"]
    (told,) = find_sources([folder]).issues
    assert told.rule == "R151"
    assert told.message == (
        "7 files were left alone: 1 .jpg, 1 .pdf, 1 FHIR document, 1 layout, 2 our own documents, 1 without an ending."
    )


def test_documents_are_found_where_they_are_wanted(folder: Path) -> None:
    found = names(folder, "", documents=True)
    assert {"V1.bundle.json", "export.json"} < set(found)


def test_a_file_named_twice_is_read_once(folder: Path) -> None:
    assert names(folder, "b.csv", "./b.csv", "A/../b.csv", "*.csv") == ["b.csv"]


def test_a_file_that_is_named_is_taken_whatever_it_is(folder: Path) -> None:
    assert names(folder, "notes.pdf", ".hidden.csv", "missing.csv") == ["notes.pdf", ".hidden.csv", "missing.csv"]


def test_the_mark_of_an_open_file_is_no_source(folder: Path) -> None:
    for name in ("~$b.csv", ".~lock.b.csv#"):
        with pytest.raises(InputError, match="has a file open"):
            find_sources([folder / name])


def test_keys_are_not_looked_at(folder: Path) -> None:
    """Neither those of a practice by a pattern, nor those that lie apart from its settings; only where named."""
    for place in ("own/keys", "keys"):
        (folder / place).mkdir()
        for name in ("signing-key", "known.csv", "server.csv"):
            (folder / place / name).write_text("a\n", encoding="utf-8")
    for given in ("", "*", "**", "**/*"):
        found = find_sources([folder / given] if given else [folder])
        assert not [p for p in found.paths if "keys" in p.parts], given
        assert found.issues[0].message.endswith(" 1 without an ending.")
    assert names(folder, "own/keys/known.csv") == ["own/keys/known.csv"]


def test_a_folder_of_that_name_with_records_in_it_is_read(folder: Path) -> None:
    (folder / "A/keys").mkdir()
    (folder / "A/keys/visits.csv").write_text("a\n", encoding="utf-8")
    assert "A/keys/visits.csv" in names(folder, "A")


def test_patterns(folder: Path) -> None:
    assert names(folder, "**/*.yaml") == ["A/10.yaml"]
    assert names(folder, "A/*") == ["A/10.yaml", "A/deep/x.ndjson", "A/z.xlsx"]
    with pytest.raises(NoSourceError, match="pattern"):
        names(folder, "*.docx")
    with pytest.raises(NoSourceError, match="pattern"):
        names(folder, "*.pdf")


def test_an_empty_folder_is_said(tmp_path: Path) -> None:
    with pytest.raises(NoSourceError, match="no records in the folder") as caught:
        find_sources([tmp_path])
    assert caught.value.help
    assert isinstance(caught.value, InputError)


@pytest.mark.skipif(os.name == "nt", reason="links need rights on Windows")
def test_links_that_lead_out_or_round_are_left_alone(folder: Path, tmp_path: Path) -> None:
    (tmp_path / "elsewhere.csv").write_text("a")
    (folder / "A/out.csv").symlink_to(tmp_path / "elsewhere.csv")
    (folder / "A/round").symlink_to(folder)
    (folder / "A/again.csv").symlink_to(folder / "b.csv")
    assert names(folder, "A") == ["A/10.yaml", "A/z.xlsx", "A/deep/x.ndjson"]
    assert "2 links" in find_sources([folder / "A"]).issues[0].message
    assert names(folder, "").count("b.csv") == 1


def test_what_came_with_a_hand_over_is_passed_over(tmp_path: Path) -> None:
    (tmp_path / "came-with-C-1").mkdir()
    (tmp_path / "came-with-C-1/words.csv").write_text("local word\nwax\n", encoding="utf-8")
    (tmp_path / "V1.yaml").write_text("number: V1\n", encoding="utf-8")
    assert [path.name for path in find_sources([tmp_path]).paths] == ["V1.yaml"]
