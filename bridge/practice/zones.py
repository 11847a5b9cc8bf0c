"""Time zones: a checked name, and this computer's own to offer as a default."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError


def check_zone(name: str) -> str:
    """The name, if the IANA time zone database (the system's, or tzdata) has it. Raises ValueError."""
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise ValueError("is not a time zone such as Europe/London") from None
    return name


def system_zone(etc: Path = Path("/etc")) -> str | None:
    """This computer's zone as an IANA name, or None. UTC is None too: a server's zone, not a clinic's."""
    for name in _names(etc):
        if "/" in name and not name.startswith("Etc/"):
            with contextlib.suppress(ValueError):
                return check_zone(name)
    return None


def _names(etc: Path) -> Iterator[str]:
    yield os.environ.get("TZ", "").removeprefix(":")
    with contextlib.suppress(OSError):
        yield (etc / "localtime").readlink().as_posix().partition("zoneinfo/")[2]
    with contextlib.suppress(OSError, UnicodeDecodeError):
        yield (etc / "timezone").read_text(encoding="ascii").strip()
