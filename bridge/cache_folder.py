"""The folder of what can be made again: compiled packages, answers of a terminology server."""

from __future__ import annotations

import os
import sys
from pathlib import Path


def cache_folder() -> Path:
    """Where the user's programs keep what they can make again; VISIT_BRIDGE_CACHE names another place.

    Raises RuntimeError where nobody's home is known.
    """
    if own := os.environ.get("VISIT_BRIDGE_CACHE"):
        return Path(own)
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local") / "visit-bridge"
    return Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "visit-bridge"
