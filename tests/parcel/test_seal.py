"""Seals: the published vectors of the age format, and what of a seal is refused with which reason.

Oracle: the vectors of the age format by its authors (C2SP CCTV, module c2sp.org/CCTV/age, v0.0.0-20251208015420;
its licence allows them to be copied without attribution): those of X25519 keys and passphrases up to 3,500 bytes.
"""

from __future__ import annotations

import base64
import hashlib
import json
import random
import tracemalloc
import zlib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from bridge.errors import SettingsError
from bridge.parcel import Piece, opened, packed, public_sealing_key, seal, sealed
from bridge.parcel.keys import new_sealing_key
from bridge.parcel.limits import LIMITS
from bridge.parcel.seal import BrokenSealError, NotForUsError, PassphraseError, TooMuchWorkError, unsealed
from tests.parcel.parcels import ABOUT, PIECES, codes, key

VECTORS: dict[str, str] = json.loads((Path(__file__).parent / "age-vectors.json").read_text())
OUR_REASONS = (BrokenSealError, NotForUsError, PassphraseError, TooMuchWorkError)


@pytest.mark.parametrize("name", VECTORS)
def test_a_published_vector(name: str) -> None:
    head, _, body = base64.b64decode(VECTORS[name]).partition(b"\n\n")
    said: dict[str, list[str]] = {}
    for line in head.decode().splitlines():
        what, _, value = line.partition(": ")
        said.setdefault(what, []).append(value)
    if "compressed" in said:
        body = zlib.decompress(body)
    identities, passphrase = said.get("identity", []), said.get("passphrase", [""])[0]
    if said["expect"] == ["success"]:
        inside = unsealed(body, identities, passphrase, LIMITS)
        assert hashlib.sha256(inside).hexdigest() == said["payload"][0]
    else:
        with pytest.raises(OUR_REASONS) as met:
            unsealed(body, identities, passphrase, LIMITS)
        if said["expect"] == ["no match"]:
            assert met.type in (NotForUsError, PassphraseError)


IDENTITY = new_sealing_key()
WORDS = "two willows"
SEALED = sealed(packed(PIECES, ABOUT, key()), recipients=[public_sealing_key(IDENTITY)])


def test_a_sealed_parcel_opens_for_its_recipients_alone(tmp_path: Path) -> None:
    path = tmp_path / "C-0001.zip.age"
    path.write_bytes(SEALED)
    mine = opened(path, identities=[new_sealing_key(), IDENTITY])
    assert mine.ok
    assert [(p.name, p.content) for p in mine.pieces.values()] == sorted((p.name, p.content) for p in PIECES)
    for wishes in ({}, {"identities": [new_sealing_key()]}, {"passphrase": "willow"}):
        other = opened(path, **wishes)  # type: ignore[arg-type]
        assert (codes(other), other.pieces) == ({"X138"}, {})


def test_a_passphrase(tmp_path: Path) -> None:
    """One seal for all of it: each costs a second."""
    path = tmp_path / "C-0001.zip.age"
    path.write_bytes(sealed(packed(PIECES, ABOUT, key()), passphrase=WORDS))
    assert opened(path, passphrase=WORDS).ok
    for wishes in ({}, {"passphrase": "Two willows"}, {"identities": [IDENTITY]}):
        result = opened(path, **wishes)  # type: ignore[arg-type]
        assert (codes(result), result.pieces) == ({"X139"}, {})


BEGIN, END = b"-----BEGIN AGE ENCRYPTED FILE-----", b"-----END AGE ENCRYPTED FILE-----"


def armoured(content: bytes) -> list[bytes]:
    text = base64.b64encode(content)
    return [BEGIN, *(text[at : at + 64] for at in range(0, len(text), 64)), END]


@pytest.mark.parametrize("ends", [b"\n", b"\r\n"])
def test_armour(ends: bytes, tmp_path: Path) -> None:
    path = tmp_path / "C-0001.age"
    path.write_bytes(b" \n" + ends.join(armoured(SEALED)) + ends + b"\n")
    assert opened(path, identities=[IDENTITY]).ok


@pytest.mark.parametrize(
    "change",
    [
        lambda rows: rows[:-1],
        lambda rows: [rows[0], rows[-1]],
        lambda rows: [*rows[:2], b"", *rows[2:]],
        lambda rows: [rows[0], rows[1][:-4], *rows[2:]],
        lambda rows: [rows[0], rows[1] + rows[2], *rows[3:]],
        lambda rows: [rows[0], rows[1] + b" ", *rows[2:]],
        lambda rows: [*rows, b"more"],
        lambda rows: [*rows[:-1], b"AB==", rows[-1]],
        lambda rows: [rows[0], b"A" * 200_000, *rows[1:]],
    ],
)
def test_armour_that_is_broken_is_refused(change: Callable[[list[bytes]], list[bytes]], tmp_path: Path) -> None:
    path = tmp_path / "C-0001.age"
    path.write_bytes(b"\n".join(change(armoured(SEALED))))
    assert codes(opened(path, identities=[IDENTITY])) == {"X140"}


def test_armour_that_is_too_large_is_refused_before_it_is_decoded(tmp_path: Path) -> None:
    path = tmp_path / "C-0001.age"
    path.write_bytes(b"\n".join(armoured(SEALED)))
    few = replace(LIMITS, armour=path.stat().st_size - 1)
    assert codes(opened(path, identities=[IDENTITY], limits=few)) == {"X143"}
    assert opened(path, identities=[IDENTITY], limits=replace(LIMITS, armour=path.stat().st_size)).ok


def test_armour_takes_little_more_memory_than_its_size() -> None:
    """What Python itself holds, by tracemalloc: before, the text was held seven times over."""
    content = b"\n".join(armoured(bytes(3_000_000)))
    tracemalloc.start()
    try:
        assert len(seal._without_armour(content, LIMITS.armour)) == 3_000_000
        assert tracemalloc.get_traced_memory()[1] < 3 * len(content)
    finally:
        tracemalloc.stop()


@pytest.mark.parametrize("seed", range(60))
def test_a_changed_byte_or_a_cut_end_is_refused(seed: int, tmp_path: Path) -> None:
    chance = random.Random(seed)
    at = chance.randrange(len(SEALED))
    broken = SEALED[:at] if seed % 3 == 0 else SEALED[:at] + bytes([SEALED[at] ^ 1 << seed % 8]) + SEALED[at + 1 :]
    path = tmp_path / "parcel.zip.age"
    path.write_bytes(broken if broken.startswith(b"age-encryption.org/v1\n") else b"age-encryption.org/v1\n" + broken)
    result = opened(path, identities=[IDENTITY])
    assert codes(result) & {"X138", "X140"}
    assert not result.pieces


def test_a_huge_claim_of_work_costs_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """scrypt with N = 2^40 would need a petabyte; nothing is tried."""
    import pyrage

    def tried(*_: object) -> bytes:
        raise AssertionError("the passphrase was tried")

    monkeypatch.setattr(pyrage.passphrase, "decrypt", tried)
    for factor in (b"22", b"40", b"99"):
        path = tmp_path / "parcel.zip.age"
        path.write_bytes(b"age-encryption.org/v1\n-> scrypt AAAAAAAAAAAAAAAAAAAAAA " + factor + b"\nAAAA\n--- AAAA\nx")
        assert codes(opened(path, passphrase=WORDS)) == {"X141"}


@pytest.mark.parametrize("claim", [b"999", b"-1", b"1e9", b"", b"0x10", b"+9", b"09"])
def test_a_claim_that_is_no_number_is_no_seal(claim: bytes, tmp_path: Path) -> None:
    path = tmp_path / "parcel.zip.age"
    path.write_bytes(b"age-encryption.org/v1\n-> scrypt AAAAAAAAAAAAAAAAAAAAAA " + claim + b"\nAAAA\n--- AAAA\nx")
    assert codes(opened(path, passphrase=WORDS)) == {"X140"}


def test_a_header_without_end_is_not_read_to_the_end(tmp_path: Path) -> None:
    path = tmp_path / "parcel.zip.age"
    path.write_bytes(b"age-encryption.org/v1\n" + b"-> X25519 A\n\n" * 100_000 + b"--- AAAA\nx")
    assert codes(opened(path, identities=[IDENTITY])) == {"X140"}


def test_a_seal_is_for_keys_or_for_a_passphrase() -> None:
    whole = packed([Piece("a.txt", "text/plain", b"a")], ABOUT.__class__("2026-11-26", "Willow", "", ""))
    for recipients, passphrase in (([], ""), ([public_sealing_key(IDENTITY)], "willow")):
        with pytest.raises(SettingsError):
            sealed(whole, recipients=recipients, passphrase=passphrase)


def test_a_wrong_recipient_or_identity_is_told_without_quoting_it() -> None:
    with pytest.raises(SettingsError) as met:
        sealed([], recipients=["age1notakey"])
    assert "notakey" not in met.value.message + met.value.help
    with pytest.raises(SettingsError) as met:
        public_sealing_key("AGE-SECRET-KEY-1QQQ")
    assert "1QQQ" not in met.value.message + met.value.help
