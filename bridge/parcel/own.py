"""The practice's own keys, made once and never written over, and the cards by which clinics give theirs."""

from __future__ import annotations

import contextlib
import json
import os
import secrets
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from bridge.errors import InputError, SettingsError
from bridge.parcel.keys import (
    age_recipient,
    fingerprint_of,
    new_sealing_key,
    new_signing_key,
    public_part,
    public_sealing_key,
    signing_key,
)
from bridge.parcel.known import KnownKey, known_keys
from bridge.practice.secrets import SERVICE, keyring_user, only_its_owner_writes, secret, secret_path
from bridge.safe_write import write_bytes


def new_pseudonym_key() -> str:
    """256 random bits as hexadecimal digits."""
    return secrets.token_hex(32)


MAKERS: dict[str, Callable[[], str]] = {
    "signing-key": new_signing_key,
    "sealing-key": new_sealing_key,
    "pseudonym-key": new_pseudonym_key,
}
_MOST_BYTES = 65_536
_KEPT_OUT_OF_GIT = b"*\n!known.csv\n"


@dataclass(frozen=True, slots=True)
class Card:
    """What a clinic gives to others: public halves only."""

    clinic: str
    fingerprint: str
    signing: dict[str, str]
    recipient: str

    def as_json(self) -> bytes:
        data = {
            "clinic": self.clinic,
            "fingerprint": self.fingerprint,
            "signing_key": self.signing,
            "sealing_key": self.recipient,
        }
        return (json.dumps(data, indent=2, ensure_ascii=False) + "\n").encode()


def make_key(name: str, folder: Path, *, keyring: bool) -> bool:
    """Makes the key of a name in `keys/` of the practice folder or in the system's keyring; False where there is one.

    Raises SettingsError where it cannot be kept.
    """
    if secret(name, folder) is not None:
        return False
    made = MAKERS[name]()
    if keyring:
        _into_keyring(name, folder, made)
        return True
    path = secret_path(name, folder)
    if path.parent.is_dir() and any(path.parent.iterdir()):
        only_its_owner_writes(path)
    try:
        path.parent.mkdir(mode=0o700, exist_ok=True)
        os.chmod(path.parent, 0o700)
        if not (path.parent / ".gitignore").exists():
            write_bytes(path.parent / ".gitignore", _KEPT_OUT_OF_GIT, private=True)
        _new_file(path, made.encode() + b"\n")
    except OSError as error:
        raise SettingsError(f"The key cannot be written to {path.parent.name}: {error.strerror}.") from None
    return True


def own_card(folder: Path, clinic: str) -> Card | None:
    """The public halves of the practice's own keys; None where there is no signing key. Raises SettingsError."""
    private = secret("signing-key", folder)
    if private is None:
        return None
    key = signing_key(private)
    sealing = secret("sealing-key", folder)
    return Card(clinic, key.fingerprint, dict(key.public), public_sealing_key(sealing) if sealing else "")


def known_here(folder: Path, clinic: str) -> list[KnownKey]:
    """The keys of `keys/known.csv` and the practice's own, under its own name. Raises SettingsError."""
    card = own_card(folder, clinic)
    mine = [KnownKey(clinic, card.fingerprint, card.signing, card.recipient)] if card and clinic else []
    return [*known_keys(folder), *mine]


def read_card(path: Path) -> Card:
    """The card of another clinic, as `keys show --to` writes it. Raises InputError."""
    try:
        with path.open("rb") as stream:
            content = stream.read(_MOST_BYTES + 1)
        data = json.loads(content.decode("utf-8"))
    except OSError as error:
        told = f"The file with the keys, {path}, cannot be read: {error.strerror}."
        raise InputError(told, "Check the name and the folder, or ask the clinic for its file again.") from None
    except (ValueError, RecursionError):
        data = None
    jwk = data.get("signing_key") if isinstance(data, dict) else None
    public = public_part(jwk) if isinstance(jwk, dict) and "d" not in jwk else None
    if public is None:
        raise InputError("The file holds no public signing key.", "Ask the clinic for what `keys show --to` writes.")
    recipient = data.get("sealing_key")
    if recipient:
        try:
            age_recipient(str(recipient))
        except SettingsError as error:
            raise InputError(error.message, error.help) from None
    if data.get("fingerprint", fingerprint_of(public)) != fingerprint_of(public):
        raise InputError("The file names another fingerprint than its key has.", "Do not trust it; ring the clinic.")
    return Card(str(data.get("clinic") or "")[:200], fingerprint_of(public), public, str(recipient or ""))


def _new_file(path: Path, content: bytes) -> None:
    """A file that was not there before, for its owner alone; nothing is left of it where writing fails."""
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
    except BaseException:
        with contextlib.suppress(OSError):
            path.unlink()
        raise


def _into_keyring(name: str, folder: Path, made: str) -> None:
    import keyring
    import keyring.errors

    user = keyring_user(name, folder)
    if user is None:
        raise SettingsError("The practice has no namespace yet, under which the keyring could keep a key.")
    try:
        keyring.set_password(SERVICE, user, made)
    except (keyring.errors.KeyringError, RuntimeError, OSError):
        raise SettingsError(
            "There is no keyring of the system, or it is locked.", "Unlock it, or leave out --keyring."
        ) from None
