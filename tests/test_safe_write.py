"""A file is there whole, or as it was before, and nothing lies beside it."""

from __future__ import annotations

import os
import stat
import sys
from pathlib import Path

import pytest

from bridge.safe_write import write_bytes


def test_writes_and_replaces(tmp_path: Path) -> None:
    path = tmp_path / "Brief für Zoë.xml"
    write_bytes(path, b"one")
    write_bytes(path, b"two")
    assert path.read_bytes() == b"two"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.skipif(sys.platform == "win32", reason="file modes are of POSIX systems")
def test_private_is_for_the_owner_alone(tmp_path: Path) -> None:
    write_bytes(tmp_path / "secret", b"x", private=True)
    assert stat.S_IMODE((tmp_path / "secret").stat().st_mode) == 0o600


@pytest.mark.parametrize("stop", [OSError("disk full"), KeyboardInterrupt()])
@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_leaves_the_old_file_when_interrupted(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str, stop: BaseException
) -> None:
    path = tmp_path / "letter"
    path.write_bytes(b"old")

    def fail(*_: object) -> None:
        raise stop

    monkeypatch.setattr(os, step, fail)
    with pytest.raises(type(stop)):
        write_bytes(path, b"new")
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]


def test_says_when_the_folder_is_missing(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError) as raised:
        write_bytes(tmp_path / "nowhere" / "x", b"x")
    assert raised.value.filename == str(tmp_path / "nowhere" / "x"), "the name that the person gave"
