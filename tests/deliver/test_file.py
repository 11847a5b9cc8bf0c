"""Names that differ for different visits, files whole and private, and what was there before is told."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from bridge.deliver import FileNames, Shelf, write_document
from bridge.shapes import Document


def document(content: bytes, name: str = "V1.bundle.json") -> Document:
    return Document(name, "application/fhir+json", content)


def test_a_version_has_a_file_of_its_own() -> None:
    names = FileNames()
    assert [names.stem("V1"), names.stem("V1", 2), names.stem("V1")] == ["V1", "V1-v2", "V1"]


@pytest.mark.parametrize(
    "numbers",
    [
        [("V1", 2), ("V1-v2", 1)],
        [("a1", 1), ("A1", 1)],
        [("a/1", 1), ("a_1", 1), ("a?1", 1)],
        [("con", 1), ("CON", 1)],
        [("Ä1", 1), ("_1", 1), ("..", 1), ("é", 1)],
    ],
)
def test_different_visits_never_share_a_file(numbers: list[tuple[str, int]]) -> None:
    """Compared as a file system does that does not tell capitals apart."""
    names = FileNames()
    stems = [names.stem(*n).lower() for n in numbers]
    assert len(set(stems)) == len(numbers)
    assert not any(set(s) & set('/\\:*?"<>|') or s.startswith(".") for s in stems)


def test_a_finished_document_is_not_replaced_in_silence(tmp_path: Path) -> None:
    shelf = Shelf(tmp_path)
    assert shelf.put(document(b"one")) == []
    assert shelf.put(document(b"one")) == []
    assert [i.rule for i in shelf.put(document(b"two"))] == ["D115"]
    assert (tmp_path / "V1.bundle.json").read_bytes() == b"two"


def test_a_draft_is_replaced_without_a_word(tmp_path: Path) -> None:
    shelf = Shelf(tmp_path)
    shelf.put(document(b'{"status": "preliminary"}'))
    assert shelf.put(document(b'{"status": "final"}')) == []


FINISHED = b'{"attester": [{"mode": "professional"}]}'
LINES = b'{"resourceType": "Provenance", "agent": [{"type": {"coding": [{"code": "attester"}]}}]}\n'


@pytest.mark.parametrize(
    ("name", "draft", "finished"),
    [
        ("V1.bundle.json", b'{"status": "preliminary"}', FINISHED),
        ("V1.collection.bundle.json", b'{"identifier": {"value": "collection/V1/1/draft"}}', FINISHED),
        ("V1.ndjson", b'{"resourceType":"Patient"}\n', LINES.replace(b'": ', b'":')),
    ],
)
def test_drafts_of_every_kind_are_known(tmp_path: Path, name: str, draft: bytes, finished: bytes) -> None:
    shelf = Shelf(tmp_path)
    shelf.put(document(draft, name))
    assert shelf.put(document(finished, name)) == []
    assert [i.rule for i in shelf.put(document(draft, name))] == ["D115"]


def test_a_letter_left_from_before_is_named(tmp_path: Path) -> None:
    shelf = Shelf(tmp_path)
    assert shelf.leave("V1.bundle.json") == []
    shelf.put(document(b"one"))
    assert [i.rule for i in shelf.leave("V1.bundle.json")] == ["D116"]


@pytest.mark.skipif(os.name == "nt", reason="Windows keeps no such mode bits")
def test_only_the_owner_may_read(tmp_path: Path) -> None:
    Shelf(tmp_path / "new folder").put(document(b"one"))
    assert (tmp_path / "new folder" / "V1.bundle.json").stat().st_mode & 0o077 == 0


def test_folders_are_made_for_their_owner_alone_and_those_of_others_left_as_they_are(tmp_path: Path) -> None:
    open_to_all = tmp_path / "shared"
    open_to_all.mkdir()
    open_to_all.chmod(0o755)
    write_document(document(b"one"), open_to_all / "a" / "b")
    modes = [oct(p.stat().st_mode & 0o777) for p in (open_to_all, open_to_all / "a", open_to_all / "a" / "b")]
    assert modes == ["0o755", "0o700", "0o700"]
