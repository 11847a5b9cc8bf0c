"""File names for the practice's own numbers."""

from __future__ import annotations

import hashlib
import re

_UNSAFE = re.compile(r"[^A-Za-z0-9._-]+")
_RESERVED = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\.|$)", re.IGNORECASE)
MAX_STEM = 80


def safe_stem(number: str, apart: str = "") -> str:
    """Readable, taken by every file system; a number that had to be changed gets a short digest of itself.

    `apart`, where given, is what the digest is made of, for numbers that would else share a name.
    """
    plain = _UNSAFE.sub("_", number).strip("._-")[:MAX_STEM]
    if plain == number and not apart and not _RESERVED.match(plain):
        return plain
    return f"{plain or 'visit'}-{hashlib.sha256((apart or number).encode('utf-8', 'replace')).hexdigest()[:8]}"
