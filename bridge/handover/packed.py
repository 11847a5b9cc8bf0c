"""A hand-over on its way out: signed, sealed or as a plain folder, whole or not at all."""

from __future__ import annotations

import os
import shutil
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from bridge.errors import BridgeError, InputError
from bridge.file_names import safe_stem
from bridge.parcel import MANIFEST, About, Piece, SigningKey, packed, sealed, write_folder
from bridge.render.handover.checking import opening
from bridge.safe_write import make_folder, write_bytes

State = Literal["written", "replaced", "unchanged", "left"]
SEALED, HOW = ".zip.age", ".how-to-open.txt"
PURPOSES = {"clinic": "handover", "client": "own-copy"}


@dataclass(frozen=True, slots=True)
class Seal:
    """For whom a parcel is sealed; for nobody: a plain folder."""

    recipients: tuple[str, ...] = ()
    passphrase: str = field(default="", repr=False)

    @property
    def kind(self) -> Literal["", "key", "passphrase"]:
        return "key" if self.recipients else "passphrase" if self.passphrase else ""


def names_of_parcel(stem: str, reader: str, seal: Seal) -> str:
    """`C-1011-handover` for a folder, `C-1011-handover.zip.age` for a sealed file."""
    return f"{safe_stem(stem)}-{PURPOSES[reader]}" + (SEALED if seal.kind else "")


def deliver(
    pieces: Sequence[Piece], about: About, key: SigningKey | None, seal: Seal, target: Path, *, replace: bool = False
) -> tuple[State, list[Path]]:
    """Puts the parcel at `target`, and says what became of it and which files or folders stand there now.

    `left`: something else stands there, and `replace` is not wished. Raises BridgeError where nothing can be written,
    and where what stands there is no parcel.
    """
    there = target.exists() or target.is_symlink()
    if there and not replace and seal.kind:
        return "left", []
    try:
        whole = packed(pieces, about, key)
        make_folder(target.parent)
        if not seal.kind:
            return _folder(whole, target, there, replace), [target]
        if there and not target.is_file():
            raise InputError(f"{target} is no file, and was left as it is.", "Name another folder with --to.")
        content = sealed(whole, recipients=seal.recipients, passphrase=seal.passphrase)
        how = target.with_name(target.name.removesuffix(SEALED) + HOW)
        write_bytes(target, content, private=True)
        write_bytes(how, _how(seal, target.name), private=True)
    except OSError as error:
        raise BridgeError(
            f"{target} cannot be written: {error.strerror or 'unknown reason'}.",
            "Close what is open of it, or choose another folder with --to.",
        ) from None
    return "replaced" if there else "written", [target, how]


def _folder(whole: Sequence[Piece], target: Path, there: bool, replace: bool) -> State:
    if not there:
        write_folder(whole, target)
        return "written"
    if target.is_symlink() or not (target / MANIFEST).is_file():
        raise InputError(f"{target} is no hand-over, and was left as it is.", "Name another folder with --to.")
    if _same(whole, target):
        return "unchanged"
    if not replace:
        return "left"
    token = os.urandom(16).hex()
    new, old = target.with_name(f".{token}.new"), target.with_name(f".{token}.old")
    write_folder(whole, new)
    try:
        target.rename(old)
        try:
            new.rename(target)
        except BaseException:
            old.rename(target)
            raise
    except BaseException:
        shutil.rmtree(new, ignore_errors=True)
        raise
    shutil.rmtree(old, ignore_errors=True)
    return "replaced"


def _same(whole: Sequence[Piece], folder: Path) -> bool:
    """Whether every file is there as it would be written, and no other."""
    paths = [path for path in folder.rglob("*") if path.is_symlink() or not path.is_dir()]
    if any(path.is_symlink() for path in paths):
        return False
    names = {path.relative_to(folder).as_posix() for path in paths}
    try:
        return names == {p.name for p in whole} and all((folder / p.name).read_bytes() == p.content for p in whole)
    except OSError:
        return False


def _how(seal: Seal, name: str) -> bytes:
    whom = {
        "key": "the private key whose public half the clinic was given (saved as my-age-key.txt)",
        "passphrase": "the passphrase that you were told apart from it",
    }[seal.kind]
    text = (
        f"{name} is an ear care record. It opens with age, a free program (https://age-encryption.org),\n"
        f"and {whom}. In a terminal:\n\n{opening(seal.kind, name)}\n"
        "Then open parcel/index.html. Its last part says how to check that nothing was changed.\n"
    )
    return text.encode()
