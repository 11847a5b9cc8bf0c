"""Reads the folder of a parcel, bounded, and never through a link."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from bridge.parcel.limits import Limits
from bridge.parcel.names import clash, fault_of_name
from bridge.parcel.unzip import TooMuchError, TrickError


def folder_files(folder: Path, limits: Limits) -> dict[str, bytes]:
    """The files of a folder by name. Raises TrickError, TooMuchError or OSError."""
    sizes = _walked(folder, limits)
    if fault := clash(sizes):
        raise TrickError(fault)
    files: dict[str, bytes] = {}
    left = limits.whole
    for name in sizes:
        files[name] = file_content(folder / name, min(limits.piece, left))
        left -= len(files[name])
    return files


def file_content(path: Path, most: int) -> bytes:
    """The content of a plain file, no more than `most` bytes. Raises TrickError, TooMuchError or OSError."""
    handle = os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0) | _BINARY)
    with os.fdopen(handle, "rb") as stream:
        found = os.fstat(handle)
        if not stat.S_ISREG(found.st_mode):
            raise TrickError("it holds a link or a device instead of a file")
        if found.st_size > most:
            raise TooMuchError(f"a file is larger than {most >> 20} MiB")
        content = stream.read(most + 1)
    if len(content) > most:
        raise TooMuchError(f"a file is larger than {most >> 20} MiB")
    return content


_BINARY = getattr(os, "O_BINARY", 0)


def _walked(folder: Path, limits: Limits) -> dict[str, int]:
    sizes: dict[str, int] = {}
    ahead = [("", folder)]
    seen = 0
    while ahead:
        before, here = ahead.pop()
        with os.scandir(here) as entries:
            for entry in entries:
                seen += 1
                if seen > limits.files:
                    raise TooMuchError(f"it holds more than {limits.files:,} files")
                name = f"{before}{entry.name}"
                if fault := fault_of_name(name):
                    raise TrickError(f"a file has a name {fault}")
                if entry.is_dir(follow_symlinks=False):
                    ahead.append((f"{name}/", here / entry.name))
                elif entry.is_file(follow_symlinks=False):
                    sizes[name] = entry.stat(follow_symlinks=False).st_size
                else:
                    raise TrickError("it holds a link or a device instead of a file")
    if sum(sizes.values()) > limits.whole or max(sizes.values(), default=0) > limits.piece:
        raise TooMuchError(f"it is larger than {limits.whole >> 20} MiB, or a file is larger than {limits.piece >> 20}")
    return dict(sorted(sizes.items()))
