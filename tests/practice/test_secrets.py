"""Secrets: from the environment, the keyring, the folder, in this order; never from a file open to others."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import keyring
import pytest
from keyring.backend import KeyringBackend
from keyring.errors import KeyringLocked

from bridge.errors import SettingsError
from bridge.practice.secrets import keyring_user, secret, secret_path, variable_of

NAMESPACE = "2d1f6a34-7c0e-4a55-8b7e-1f0a5f0e9c11"
POSIX = pytest.mark.skipif(os.name != "posix", reason="modes of files are those of POSIX")


class Ring(KeyringBackend):
    """A keyring of one test."""

    priority = 1  # type: ignore[assignment]
    locked = False

    def __init__(self) -> None:
        super().__init__()
        self.kept: dict[tuple[str, str], str] = {}

    def get_password(self, service: str, username: str) -> str | None:
        if self.locked:
            raise KeyringLocked
        return self.kept.get((service, username))

    def set_password(self, service: str, username: str, password: str) -> None:
        self.kept[service, username] = password


@pytest.fixture
def ring() -> Iterator[Ring]:
    before, ring = keyring.get_keyring(), Ring()
    keyring.set_keyring(ring)
    yield ring
    keyring.set_keyring(before)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "practice.yaml").write_text(f"namespace: {NAMESPACE}\n")
    (tmp_path / "keys").mkdir(mode=0o700)
    return tmp_path


def put(path: Path, content: bytes, mode: int = 0o600) -> Path:
    path.write_bytes(content)
    path.chmod(mode)
    return path


def test_nothing_anywhere(folder: Path, ring: Ring) -> None:
    assert secret("signing-key", folder) is None
    assert secret("signing-key", None) is None


def test_the_order(folder: Path, ring: Ring, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    put(folder / "keys/signing-key", b" of the folder\n")
    assert secret("signing-key", folder) == "of the folder"
    ring.set_password("visit-bridge", f"{NAMESPACE}/signing-key", "of the ring")
    assert secret("signing-key", folder) == "of the ring"
    monkeypatch.setenv("VISIT_BRIDGE_SIGNING_KEY_FILE", str(put(tmp_path / "named", b"of the named file")))
    assert secret("signing-key", folder) == "of the named file"
    assert secret("signing-key", None) == "of the named file"
    monkeypatch.setenv("VISIT_BRIDGE_SIGNING_KEY", "of the environment")
    assert secret("signing-key", folder) == "of the environment"
    assert secret("sealing-key", folder) is None


def test_a_locked_ring_is_passed_over(folder: Path, ring: Ring) -> None:
    ring.locked = True
    put(folder / "keys/sealing-key", b"of the folder")
    assert secret("sealing-key", folder) == "of the folder"


def test_a_practice_without_a_namespace_has_no_ring(tmp_path: Path, ring: Ring) -> None:
    (tmp_path / "practice.yaml").write_text("- not\n- settings: [")
    assert keyring_user("signing-key", tmp_path) is None
    assert secret("signing-key", tmp_path) is None


@POSIX
@pytest.mark.parametrize("mode", [0o770, 0o702, 0o777, 0o1777, 0o720])
def test_a_folder_that_others_may_write_into_is_refused(folder: Path, ring: Ring, mode: int) -> None:
    """Who may write into a folder may put another file in the place of a key, whoever may read that key."""
    put(folder / "keys/signing-key", b"top secret words")
    (folder / "keys").chmod(mode)
    assert secret("sealing-key", folder) is None
    with pytest.raises(SettingsError, match="Others may write into the folder keys") as told:
        secret("signing-key", folder)
    assert "chmod" in told.value.help
    (folder / "keys").chmod(mode & 0o755)
    assert secret("signing-key", folder) == "top secret words"


@POSIX
@pytest.mark.parametrize("mode", [0o640, 0o604, 0o660, 0o602, 0o644])
def test_a_file_open_to_others_is_refused(folder: Path, ring: Ring, mode: int) -> None:
    put(folder / "keys/signing-key", b"top secret words", mode)
    with pytest.raises(SettingsError, match="can be read by others") as told:
        secret("signing-key", folder)
    assert "top secret" not in told.value.message + told.value.help


@pytest.mark.parametrize(
    ("content", "said"), [(b"\xff\xfe", "UTF-8"), (b"x" * 70_000, "larger")], ids=["no text", "too long"]
)
def test_files_that_are_no_secret(folder: Path, ring: Ring, content: bytes, said: str) -> None:
    put(folder / "keys/signing-key", content)
    with pytest.raises(SettingsError, match=said):
        secret("signing-key", folder)


def test_a_file_that_is_named_must_be_there(folder: Path, ring: Ring, monkeypatch: pytest.MonkeyPatch) -> None:
    put(folder / "keys/signing-key", b"of the folder")
    monkeypatch.setenv("VISIT_BRIDGE_SIGNING_KEY_FILE", str(folder / "gone"))
    with pytest.raises(SettingsError, match="not there"):
        secret("signing-key", folder)


def test_an_empty_one_is_none(folder: Path, ring: Ring, monkeypatch: pytest.MonkeyPatch) -> None:
    put(folder / "keys/signing-key", b" \n")
    monkeypatch.setenv("VISIT_BRIDGE_SIGNING_KEY", "")
    assert secret("signing-key", folder) is None


@pytest.mark.parametrize("name", ["", "../practice.yaml", "a/b", "A", "a b", "-a", "a--b"])
def test_names(folder: Path, name: str) -> None:
    with pytest.raises(ValueError, match="named in"):
        secret_path(name, folder)


def test_the_variable_of_a_name() -> None:
    assert variable_of("send-brook-lane-token") == "VISIT_BRIDGE_SEND_BROOK_LANE_TOKEN"
