"""Writes a file whole or not at all, and makes folders that only their owner may look into."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path


def write_bytes(path: Path, content: bytes, private: bool = False) -> None:
    """Puts `content` at `path`: written beside it, flushed to the disk, then renamed into place.

    Nobody ever sees half a file, and nothing is left beside it, even where writing is interrupted.
    `private`: only the owner may read it, where the file system knows such a thing. Raises OSError.
    """
    beside = path.with_name(f".{os.urandom(16).hex()}.part")
    try:
        new = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
        handle = os.open(beside, new, 0o600 if private else 0o666)
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        os.replace(beside, path)
    except BaseException as error:
        with contextlib.suppress(OSError):
            beside.unlink()
        if isinstance(error, OSError) and error.filename == os.fspath(beside):
            error.filename = os.fspath(path)  # nobody knows the other
        raise


def make_folder(folder: Path) -> None:
    """Makes a folder and those above it that are missing, for their owner only; what is there stays as it is.

    Names of files tell of clients, too. Raises OSError.
    """
    if not folder.is_dir():
        if folder.parent != folder:
            make_folder(folder.parent)
        folder.mkdir(mode=0o700, exist_ok=True)
