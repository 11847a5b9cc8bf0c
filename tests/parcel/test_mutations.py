"""Parcels with bytes changed, cut, doubled, swapped at random: refused, or whole as they were; never a fault of ours.

Oracle for what a zip holds: zipfile of Python, where it reads the same bytes too.
"""

from __future__ import annotations

import io
import json
import random
import zipfile
from pathlib import Path
from typing import Any

import pytest

from bridge.parcel import Limits, opened
from bridge.parcel.signature import sign
from bridge.parcel.unzip import DamagedError, TooMuchError, TrickError, unzipped
from tests.parcel.parcels import PIECES, as_folder, as_zip, key, open_zip, whole

ZIP = as_zip(whole())
WHOLE = {piece.name: piece.content for piece in PIECES}


def mutant(content: bytes, chance: random.Random) -> bytes:
    found = bytearray(content)
    for _ in range(chance.choice((1, 1, 1, 2, 5))):
        at = chance.randrange(len(found))
        match chance.randrange(5):
            case 0:
                found[at] ^= 1 << chance.randrange(8)
            case 1:
                found[at] = chance.choice((0, 1, 0x7F, 0x80, 0xFF))
            case 2:
                del found[at : at + chance.randrange(1, 40)]
            case 3:
                found[at:at] = found[at : at + chance.randrange(1, 200)]
            case _:
                other = chance.randrange(len(found))
                found[at], found[other] = found[other], found[at]
        if not found:
            break
    return bytes(found)


@pytest.mark.parametrize("seed", range(0, 2_000, 200))
def test_a_mutant_of_a_zip_is_refused_or_whole(seed: int) -> None:
    refused = 0
    for one in range(seed, seed + 200):
        content = mutant(ZIP, random.Random(one))
        try:
            files = unzipped(content, Limits())
        except (DamagedError, TooMuchError, TrickError):
            refused += 1
            continue
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            assert files == {name: archive.read(name) for name in archive.namelist()}
    assert refused > 100


@pytest.mark.parametrize("seed", range(0, 200, 50))
def test_a_mutant_of_a_parcel_gives_all_or_nothing(seed: int, tmp_path: Path) -> None:
    for one in range(seed, seed + 50):
        content = mutant(ZIP, random.Random(one))
        if not content.startswith(b"PK\3\4"):
            continue
        found = open_zip(content, tmp_path)
        if found.ok:
            assert {name: piece.content for name, piece in found.pieces.items()} == WHOLE
        else:
            assert found.pieces == {}
            assert all(issue.rule.startswith("X1") for issue in found.issues)


@pytest.mark.parametrize("seed", range(0, 400, 50))
def test_a_manifest_of_any_shape_is_told_even_if_it_is_signed(seed: int, tmp_path: Path) -> None:
    """The signer may be hostile too: what was changed is signed anew with a key that nobody knows."""
    files = whole()
    path = as_folder(files, tmp_path / "record")
    for one in range(seed, seed + 50):
        chance = random.Random(one)
        data = json.loads(files["manifest.json"])
        _twist(data, chance)
        manifest = json.dumps(data).encode()
        if one % 3 == 0:
            manifest = mutant(manifest, chance)
        (path / "manifest.json").write_bytes(manifest)
        (path / "manifest.json.jws").write_bytes(sign(manifest, key(1)))
        found = opened(path)
        assert found.ok == bool(found.pieces)
        if found.ok:
            assert {name: piece.content for name, piece in found.pieces.items()} == WHOLE


def _twist(data: Any, chance: random.Random) -> None:
    """One value somewhere in it becomes something else."""
    while True:
        keys = list(data) if isinstance(data, dict) else list(range(len(data)))
        if not keys:
            return
        at = chance.choice(keys)
        if isinstance(data[at], dict | list) and data[at] and chance.random() < 0.7:
            data = data[at]
            continue
        data[at] = chance.choice(
            [None, True, 0, -1, 1.5, 2**64, "", "a" * 3_000, [], {}, [[]], "../a", "manifest.json", "\ud800", "0" * 64]
        )
        return
