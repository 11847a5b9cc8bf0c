"""Makes a parcel: manifest and signature, a folder, a zip, a seal."""

from __future__ import annotations

import contextlib
import io
import os
import shutil
import zipfile
from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path

from bridge import __version__
from bridge.errors import InputError, SettingsError
from bridge.parcel.keys import SigningKey, age_recipient
from bridge.parcel.manifest import written
from bridge.parcel.shapes import MANIFEST, SIGNATURE, About, Piece
from bridge.parcel.signature import sign
from bridge.safe_write import write_bytes

_ZIP_EPOCH = (1980, 1, 1, 0, 0, 0)
_PACKED_ALREADY = (".pdf", ".png", ".jpg", ".jpeg", ".webp", ".gif")


def packed(pieces: Iterable[Piece], about: About, key: SigningKey | None = None) -> list[Piece]:
    """The pieces in the order of their names, with manifest.json and, by `key`, its signature at the end.

    The same pieces give the same bytes with an Ed25519 key; a signature by ES384 differs each time. Without a key the
    parcel is not signed, and only opens for somebody who asks for that. Raises ValueError as `manifest.written` does.
    """
    ordered = sorted(pieces, key=lambda piece: piece.name)
    manifest = written(ordered, about if about.version else replace(about, version=__version__))
    whole = [*ordered, Piece(MANIFEST, "application/json", manifest, "what is in the parcel")]
    if key is not None:
        whole.append(Piece(SIGNATURE, "application/jose", sign(manifest, key), "signature over the manifest"))
    return whole


def write_folder(pieces: Iterable[Piece], folder: Path) -> None:
    """Writes packed pieces as a new folder, whole or not at all: under a hidden name beside it, then renamed.

    Only the owner may read it. Raises InputError where something of that name is there, OSError as writing does.
    """
    if folder.exists() or folder.is_symlink():
        raise InputError("There is something of that name already; it was left as it is.", "Name a new folder.")
    folder.parent.mkdir(parents=True, exist_ok=True)
    beside = folder.with_name(f".{os.urandom(16).hex()}.part")
    try:
        beside.mkdir(mode=0o700)
        for piece in pieces:
            path = beside / piece.name
            for above in reversed(path.relative_to(beside).parents[:-1]):
                (beside / above).mkdir(mode=0o700, exist_ok=True)
            write_bytes(path, piece.content, private=True)
        beside.rename(folder)
    except BaseException:
        with contextlib.suppress(OSError):
            shutil.rmtree(beside)
        raise


def zipped(pieces: Iterable[Piece]) -> bytes:
    """A zip of packed pieces in their order, without times and owners: the same pieces give the same bytes.

    The same holds between computers as far as their zlib compresses alike.
    """
    whole = io.BytesIO()
    with zipfile.ZipFile(whole, "w") as archive:
        for piece in pieces:
            entry = zipfile.ZipInfo(piece.name, _ZIP_EPOCH)
            entry.create_system = 3
            entry.external_attr = 0o100600 << 16
            plain = piece.name.endswith(_PACKED_ALREADY)
            entry.compress_type = zipfile.ZIP_STORED if plain else zipfile.ZIP_DEFLATED
            archive.writestr(entry, piece.content)
    return whole.getvalue()


def sealed(pieces: Iterable[Piece], *, recipients: Sequence[str] = (), passphrase: str = "") -> bytes:
    """A zip of packed pieces, sealed with age for recipients (age1...) or for a passphrase, never for both.

    A seal is different every time, as it has to be. Raises SettingsError for a recipient that is none, or for neither
    or both.
    """
    import pyrage  # type: ignore[import-untyped]

    if bool(recipients) == bool(passphrase):
        raise SettingsError("A parcel is sealed for keys or for a passphrase: for one of the two.")
    known = [age_recipient(text) for text in recipients]
    content = zipped(pieces)
    return bytes(pyrage.encrypt(content, known) if known else pyrage.passphrase.encrypt(content, passphrase))
