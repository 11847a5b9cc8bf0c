"""Canonical addresses and the order of their versions.

Source: https://hl7.org/fhir/R4/references.html#canonical and https://semver.org (precedence).
"""

from __future__ import annotations

import re

Numbers = tuple[tuple[int, int, str], ...]
LONGEST = 60
_PARTS = re.compile(r"\d{1,18}|[A-Za-z]{1,60}")
_IN_USE = {"active": 2, "draft": 1, "unknown": 1}


def split(canonical: str) -> tuple[str, str]:
    """The address and the version, which may be empty; what stands after # is left out."""
    url, _, version = canonical.partition("#")[0].partition("|")
    return url, version


def newness(version: str, status: str = "active") -> tuple[int, Numbers, bool, Numbers]:
    """What to sort versions by, the best last: in use before drafts, then as semantic versions are ordered."""
    main, _, before = version.partition("+")[0].partition("-")
    if main[:4].isdecimal() and len(main) == 4:  # a day: 2018-08-12
        main, before = version, ""
    return _IN_USE.get(status, 0), _numbers(main), not before, _numbers(before)


def cut(text: object) -> str:
    """A name as it may be quoted."""
    words = "".join(sign if sign.isprintable() else " " for sign in str(text)[: LONGEST + 1])
    return words if len(words) <= LONGEST else words[: LONGEST - 1] + "…"


def _numbers(text: str) -> Numbers:
    """Numbers by their size and before words (1.0.0-1 is older than 1.0.0-beta)."""
    return tuple((0, int(one), "") if one[0].isdigit() else (1, 0, one) for one in _PARTS.findall(text[:200]))
