"""Where the practice folder is: named, told by the environment, or upwards from here."""

from __future__ import annotations

import os
from pathlib import Path

from bridge.errors import SettingsError

FILE = "practice.yaml"
VARIABLE = "VISIT_BRIDGE_PRACTICE"


def find_practice(explicit: Path | None = None) -> Path:
    """The practice folder: the one named, else the environment's, else upwards from here. Raises SettingsError."""
    if explicit is not None:
        return _named(explicit, "The practice folder that you named")
    if named := os.environ.get(VARIABLE):
        return _named(Path(named), f"The practice folder in the environment variable {VARIABLE}")
    here = Path.cwd()
    for folder in (here, *here.parents):
        if (folder / FILE).is_file():
            return folder
    raise SettingsError(
        f"No practice folder was found: neither {here} nor a folder above it holds {FILE}.",
        "Run `visit-bridge setup` to make one, or name yours with --practice.",
    )


def _named(path: Path, what: str) -> Path:
    folder = path.parent if path.name == FILE else path
    if not (folder / FILE).is_file():
        raise SettingsError(f"{what} holds no {FILE}: {folder}.", "Check the name, or run `visit-bridge setup` there.")
    return folder
