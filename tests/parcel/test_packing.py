"""What packing makes: a manifest that counts right, the same bytes every time, a folder whole or not at all."""

from __future__ import annotations

import dataclasses
import io
import json
import os
import random
import stat
import zipfile
from pathlib import Path

import pytest

from bridge.errors import InputError
from bridge.parcel import About, Piece, looks_like_parcel, opened, packed, write_folder, zipped
from tests.parcel.parcels import ABOUT, PIECES, es384_key, key

NIST = {
    b"abc": "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad",
    b"": "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
    b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq": (
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"
    ),
    b"a" * 1_000_000: "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0",
}
"""SHA-256 of NIST's example messages (FIPS 180-4; Cryptographic Standards and Guidelines, example values)."""


def manifest_of(pieces: list[Piece]) -> dict[str, object]:
    return json.loads(next(p.content for p in pieces if p.name == "manifest.json"))


def test_the_manifest_lists_nists_messages_with_their_hashes() -> None:
    pieces = [Piece(f"m{n}.txt", "text/plain", content) for n, content in enumerate(NIST)]
    rows = manifest_of(packed(pieces, About("2026-11-26", "Willow", "", "")))["files"]
    assert [row["sha256"] for row in rows] == list(NIST.values())  # type: ignore[index, attr-defined]
    assert [row["size"] for row in rows] == [len(m) for m in NIST]  # type: ignore[index, attr-defined]


def test_the_manifest_says_who_when_for_whom_and_how_much() -> None:
    about = dataclasses.replace(ABOUT, to="Alder Hearing", version="1.2", counts={"visits": 2, "resources": 31})
    data = manifest_of(packed(PIECES, about, key()))
    assert (data["format"], data["format_version"], data["made"]) == ("visit-bridge parcel", 1, "2026-11-26")
    assert data["by"] == {"clinic": "Willow Ear Care", "practitioner": "H-7"}
    assert (data["for"], data["client"], data["purpose"]) == ("Alder Hearing", "C-0001", "moves clinic")
    assert data["tool"] == {"name": "visit-bridge", "version": "1.2"}
    size = sum(len(piece.content) for piece in PIECES)
    assert data["counts"] == {"bytes": size, "files": 5, "images": 1, "letters": 1, "resources": 31, "visits": 2}


@pytest.mark.parametrize("seed", range(5))
def test_the_same_pieces_give_the_same_bytes(seed: int) -> None:
    mixed = random.Random(seed).sample(PIECES, len(PIECES))
    assert packed(mixed, ABOUT, key()) == packed(PIECES, ABOUT, key())
    assert zipped(packed(mixed, ABOUT, key())) == zipped(packed(PIECES, ABOUT, key()))


def test_a_piece_that_was_left_out_is_noticed_before_anything_is_written() -> None:
    with pytest.raises(ValueError, match="visits"):
        packed([piece for piece in PIECES if "V-2" not in piece.name], ABOUT)


@pytest.mark.parametrize(
    "name",
    [
        "",
        "/a",
        "../a",
        "a/../b",
        "a\\b",
        "C:a",
        "con",
        "a/NUL.txt",
        "é.pdf",
        "a b",
        "a.",
        "-a",
        "a//b",
        "a/",
        "a/b/c/d/e",
        ".hidden",
        "a" * 201,
        "manifest.json",
        "manifest.json.jws",
        "a\nb",
        "a:b",
    ],
)
def test_a_name_that_is_not_safe_everywhere_is_not_packed(name: str) -> None:
    with pytest.raises(ValueError, match="a piece has"):
        packed([Piece(name, "text/plain", b"")], About("2026-11-26", "Willow", "", ""))


@pytest.mark.parametrize("names", [("a", "A"), ("a", "a"), ("a", "a/b"), ("x/A", "X/a")])
def test_names_that_are_one_on_some_computers_are_not_packed(names: tuple[str, str]) -> None:
    with pytest.raises(ValueError, match="name"):
        packed([Piece(name, "text/plain", b"") for name in names], About("2026-11-26", "Willow", "", ""))


@pytest.mark.parametrize("signer", [key(), es384_key()], ids=lambda k: k.alg)
def test_what_was_packed_comes_out_of_folder_and_zip(signer: object, tmp_path: Path) -> None:
    whole = packed(PIECES, ABOUT, signer)  # type: ignore[arg-type]
    write_folder(whole, tmp_path / "record")
    (tmp_path / "record.zip").write_bytes(zipped(whole))
    for path in (tmp_path / "record", tmp_path / "record.zip"):
        assert looks_like_parcel(path)
        found = opened(path)
        assert found.ok
        assert sorted(found.pieces.values(), key=lambda p: p.name) == sorted(PIECES, key=lambda p: p.name)
        assert found.manifest is not None
        assert (found.manifest.about.client, found.manifest.counts["visits"]) == ("C-0001", 2)


def test_another_program_reads_the_zip() -> None:
    """Oracle: zipfile of Python."""
    with zipfile.ZipFile(io.BytesIO(zipped(packed(PIECES, ABOUT, key())))) as archive:
        assert archive.testzip() is None
        assert {n: archive.read(n) for n in archive.namelist() if "manifest" not in n} == {
            p.name: p.content for p in PIECES
        }


@pytest.mark.skipif(os.name != "posix", reason="only POSIX knows who may read")
def test_only_the_owner_may_read_the_folder(tmp_path: Path) -> None:
    write_folder(packed(PIECES, ABOUT, key()), tmp_path / "record")
    modes = {
        stat.S_IMODE(path.stat().st_mode) & 0o077 for path in [tmp_path / "record", *(tmp_path / "record").rglob("*")]
    }
    assert modes == {0}


def test_what_is_there_is_left_as_it_is(tmp_path: Path) -> None:
    (tmp_path / "record").mkdir()
    (tmp_path / "dangling").symlink_to(tmp_path / "nowhere")
    for name in ("record", "dangling"):
        with pytest.raises(InputError):
            write_folder(packed(PIECES, ABOUT, key()), tmp_path / name)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["dangling", "record"]


@pytest.mark.parametrize("after", range(5))
def test_a_write_that_fails_leaves_nothing(after: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import bridge.parcel.packing as packing

    done: list[Path] = []

    def fails(path: Path, content: bytes, private: bool = False) -> None:
        if len(done) == after:
            raise OSError(28, "No space left on device")
        done.append(path)
        path.write_bytes(content)

    monkeypatch.setattr(packing, "write_bytes", fails)
    with pytest.raises(OSError, match="No space"):
        write_folder(packed(PIECES, ABOUT, key()), tmp_path / "record")
    assert list(tmp_path.iterdir()) == []


def test_no_content_shows_when_a_piece_is_printed() -> None:
    assert "doctype" not in repr(PIECES)
