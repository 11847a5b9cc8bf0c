"""Parcels among the sources that a person names, and how they are opened."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from bridge.parcel import Opened

_WORKBOOKS = (".xlsx", ".xlsm")
_DOCUMENTS = (".json", ".ndjson", ".xml", ".pdf")


def is_parcel(path: Path) -> bool:
    from bridge.parcel import looks_like_parcel

    return path.suffix.lower() not in _WORKBOOKS and looks_like_parcel(path)


def parcels_among(names: Sequence[Path]) -> tuple[list[Path], list[Path]]:
    """Parcels, and the other sources. In a folder parcels are looked for too; what is inside of one is never read
    past its signature."""
    parcels, others = list[Path](), list[Path]()
    for name in names:
        if str(name) != "-" and is_parcel(name):
            parcels.append(name)
        elif name.is_dir() and (inside := list(_below(name))):
            parcels += inside
            others += _beside(name, set(inside))
        else:
            others.append(name)
    return parcels, others


def opened_parcel(path: Path, folder: Path | None, *, unsigned: bool) -> Opened:
    """The parcel, with the keys that the practice has; a passphrase is asked for where there is somebody to ask."""
    from bridge.parcel import known_keys, opened
    from bridge.practice.secrets import secret

    identity = secret("sealing-key", folder)
    identities = [identity] if identity else []
    known = known_keys(folder) if folder else []
    passphrase = secret("passphrase", None) or ""
    found = opened(path, identities=identities, passphrase=passphrase, known=known, unsigned=unsigned)
    if not passphrase and any(i.rule == "X139" for i in found.issues) and sys.stdin.isatty():
        passphrase = click.prompt(f"Passphrase for {path.name}", hide_input=True, err=True)
        found = opened(path, identities=identities, passphrase=passphrase, known=known, unsigned=unsigned)
    return found


def _below(root: Path) -> Iterator[Path]:
    for folder, folders, files in os.walk(root):
        if Path(folder) != root and is_parcel(Path(folder)):
            folders.clear()
            yield Path(folder)
            continue
        folders[:] = sorted(f for f in folders if not f.startswith(".") and not Path(folder, f).is_symlink())
        packed = [Path(folder, f) for f in sorted(files) if f.lower().endswith((".zip", ".age"))]
        yield from (path for path in packed if not path.is_symlink() and is_parcel(path))


def _beside(root: Path, parcels: set[Path]) -> Iterator[Path]:
    """Documents of a folder that are in no parcel."""
    for folder, folders, files in os.walk(root):
        folders[:] = sorted(f for f in folders if not f.startswith(".") and Path(folder, f) not in parcels)
        for file in sorted(files):
            path = Path(folder, file)
            if file.lower().endswith(_DOCUMENTS) and not file.startswith(".") and not path.is_symlink():
                yield path
