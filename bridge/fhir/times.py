"""Moments of the visit as FHIR dateTime and instant, and back.

FHIR wants seconds wherever there is a time ("seconds must be provided ... but may be zero-filled",
R4 datatypes, dateTime). So that a recorded 10:15 and a recorded 10:15:00 stay apart, a zero-filled
time has plain `:00` and a recorded one has `:00.0`.
"""

from __future__ import annotations

import re
from datetime import datetime
from zoneinfo import ZoneInfo

_TIME = re.compile(r"T(\d\d:\d\d)(:\d\d)?(\.\d+)?(Z|[+-]\d\d:\d\d)$")


def to_datetime(when: str) -> str:
    """FHIR dateTime of a moment of the visit."""

    def spell(found: re.Match[str]) -> str:
        minute, second, fraction, zone = found.groups()
        if second is None:
            return f"T{minute}:00{zone}"
        if second == ":00" and fraction is None:
            return f"T{minute}:00.0{zone}"
        return f"T{minute}{second}{fraction or ''}{zone}"

    return _TIME.sub(spell, when)


def from_datetime(text: str) -> str:
    """The moment behind a FHIR dateTime of ours; a foreign one keeps its seconds unless they are zero."""

    def spell(found: re.Match[str]) -> str:
        minute, second, fraction, zone = found.groups()
        if second == ":00" and fraction is None:
            return f"T{minute}{zone}"
        if second == ":00" and fraction == ".0":
            return f"T{minute}:00{zone}"
        return f"T{minute}{second}{fraction or ''}{zone}"

    return _TIME.sub(spell, text)


def to_instant(when: str, zone: ZoneInfo) -> str:
    """FHIR instant of a moment; where only the day is known, its first moment at the clinic."""
    if "T" in when:
        return to_datetime(when)
    day = datetime.fromisoformat((when + "-01-01")[:10] if len(when) == 4 else (when + "-01")[:10])
    return day.replace(tzinfo=zone).isoformat(timespec="seconds")
