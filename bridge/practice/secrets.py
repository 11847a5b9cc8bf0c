"""Secrets of the practice: signing and sealing keys, tokens of servers. Never in practice.yaml, never in a message.

Looked for in this order: the environment (VISIT_BRIDGE_SIGNING_KEY for `signing-key`, or the path of a file with it in
VISIT_BRIDGE_SIGNING_KEY_FILE), the system's keyring (service `visit-bridge`, user: the practice's namespace, a slash,
the name), the file of that name in the folder `keys/` of the practice.
"""

from __future__ import annotations

import os
import re
import stat
from pathlib import Path

from bridge.errors import SettingsError
from bridge.practice_place import FILE

SERVICE = "visit-bridge"
FOLDER = "keys"
MOST_BYTES = 65_536
_OTHERS_WRITE = stat.S_IWGRP | stat.S_IWOTH
_NAME = re.compile(r"[a-z0-9]+(?:[-.][a-z0-9]+)*")


def secret(name: str, folder: Path | None) -> str | None:
    """The secret of a name (`signing-key`), without blanks around it; None where there is none, or an empty one.

    `folder`: that of the practice; without one only the environment is asked. A keyring that is not there or locked is
    passed over. Raises SettingsError for a file that is named and cannot be read, or that others can read, and for one
    in a folder that others may write into.
    """
    variable = variable_of(name)
    if found := os.environ.get(variable, "").strip():
        return found
    if path := os.environ.get(f"{variable}_FILE"):
        return _content(Path(path), f"The file that {variable}_FILE names", must_be=True)
    if folder is None:
        return None
    kept = secret_path(name, folder)
    if (known := _from_keyring(name, folder)) is not None:
        return known
    if kept.exists():
        only_its_owner_writes(kept)
    return _content(kept, f"The file {FOLDER}/{name}")


def variable_of(name: str) -> str:
    """`VISIT_BRIDGE_SIGNING_KEY` for `signing-key`. Raises ValueError for what is no name of a secret."""
    if not _NAME.fullmatch(name):
        raise ValueError("a secret is named in small letters, digits, hyphens and dots")
    return f"VISIT_BRIDGE_{re.sub('[-.]', '_', name).upper()}"


def secret_path(name: str, folder: Path) -> Path:
    """Where the practice folder keeps it, as a file that only its owner may read."""
    variable_of(name)
    return folder / FOLDER / name


def keyring_user(name: str, folder: Path) -> str | None:
    """Under which user the system's keyring has it; None where the practice has no namespace that can be read."""
    import yaml

    try:
        with (folder / FILE).open("rb") as stream:
            data = yaml.safe_load(stream.read(MOST_BYTES * 16))
    except (OSError, ValueError, RecursionError, yaml.YAMLError):
        return None
    namespace = data.get("namespace") if isinstance(data, dict) else None
    return f"{namespace}/{name}" if namespace else None


def only_for_its_owner(path: Path) -> bool:
    """Whether nobody else may read a file, as far as the system knows such a thing. Raises SettingsError."""
    try:
        return not _others_may_read(path.stat())
    except OSError as error:
        raise SettingsError(f"{path.name} cannot be read: {error.strerror}.") from None


def only_its_owner_writes(path: Path) -> None:
    """Raises SettingsError where others may put something else in the place of a file in `keys/`: a key of theirs would
    be taken for ours, or for that of a clinic that is trusted."""
    try:
        folder, file = path.parent.stat().st_mode, path.stat().st_mode if path.exists() else 0
    except OSError as error:
        raise SettingsError(f"The folder {FOLDER} cannot be read: {error.strerror}.") from None
    reached = folder & (stat.S_IXGRP | stat.S_IXOTH)
    if os.name == "posix" and (folder & _OTHERS_WRITE or (reached and file & _OTHERS_WRITE)):
        what = f"into the folder {FOLDER}" if folder & _OTHERS_WRITE else f"into {FOLDER}/{path.name}"
        raise SettingsError(
            f"Others may write {what}, so nothing in it was used.",
            "Let only its owner in (`chmod -R go= keys`). Then see with `visit-bridge keys show` whether the keys are "
            "still yours, and those of the clinics that you trust.",
        )


def _from_keyring(name: str, folder: Path) -> str | None:
    import keyring
    import keyring.errors

    user = keyring_user(name, folder)
    if user is None:
        return None
    try:
        found = keyring.get_password(SERVICE, user)
    except (keyring.errors.KeyringError, RuntimeError, OSError):
        return None
    return (found or "").strip() or None


def _content(path: Path, what: str, *, must_be: bool = False) -> str | None:
    try:
        with path.open("rb") as stream:
            if _others_may_read(os.fstat(stream.fileno())):
                raise SettingsError(
                    f"{what} can be read by others, and was not used.",
                    "Let only its owner read it (`chmod 600` and the path), and think about a new key.",
                )
            content = stream.read(MOST_BYTES + 1)
    except FileNotFoundError:
        if not must_be:
            return None
        raise SettingsError(f"{what} is not there.") from None
    except OSError as error:
        raise SettingsError(f"{what} cannot be read: {error.strerror}.") from None
    if len(content) > MOST_BYTES:
        raise SettingsError(f"{what} is larger than any key or token.")
    try:
        return content.decode("utf-8").strip() or None
    except UnicodeDecodeError:
        raise SettingsError(f"{what} is not text in UTF-8.") from None


def _others_may_read(found: os.stat_result) -> bool:
    """Windows has no such bits; there a folder of one's own keeps others out."""
    return os.name == "posix" and bool(found.st_mode & (stat.S_IRWXG | stat.S_IRWXO))
