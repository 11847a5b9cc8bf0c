"""Parcels for tests: keys that are made once, and ways to break what was packed."""

from __future__ import annotations

import io
import json
import zipfile
from functools import cache
from pathlib import Path
from typing import Any

from bridge.parcel import About, Opened, Piece, SigningKey, opened, packed, signing_key

ABOUT = About("2026-11-26", "Willow Ear Care", "C-0001", "moves clinic", practitioner="H-7", counts={"visits": 2})
PIECES = [
    Piece("index.html", "text/html", b"<!doctype html><title>Record</title>", "where to begin"),
    Piece("visits/V-1.bundle.json", "application/fhir+json", b'{"resourceType":"Bundle"}', "visit"),
    Piece("visits/V-2.bundle.json", "application/fhir+json", b'{"resourceType":"Bundle","type":"document"}', "visit"),
    Piece("letters/V-1.pdf", "application/pdf", b"%PDF-1.7 not really", "letter"),
    Piece("images/V-1-right.png", "image/png", bytes(range(256)), "right drum"),
]


@cache
def key(number: int = 0) -> SigningKey:
    """The same ones in each run, so that what is made of them is the same too."""
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
    from joserfc.jwk import OKPKey

    made = OKPKey.import_key(Ed25519PrivateKey.from_private_bytes(bytes([number]) * 32))
    return signing_key(json.dumps(made.as_dict(private=True)))


@cache
def es384_key() -> SigningKey:
    from joserfc.jwk import ECKey

    return signing_key(json.dumps(ECKey.generate_key("P-384", private=True).as_dict(private=True)))


def whole(signer: SigningKey | None = None, about: About = ABOUT) -> dict[str, bytes]:
    return {piece.name: piece.content for piece in packed(PIECES, about, signer or key())}


def as_zip(files: dict[str, bytes]) -> bytes:
    page = io.BytesIO()
    with zipfile.ZipFile(page, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return page.getvalue()


def as_folder(files: dict[str, bytes], folder: Path) -> Path:
    for name, content in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(content)
    return folder


def open_zip(content: bytes, folder: Path, **wishes: Any) -> Opened:
    path = folder / "parcel.zip"
    path.write_bytes(content)
    return opened(path, **wishes)


def codes(result: Opened) -> set[str]:
    return {found.rule for found in result.issues}
