"""Shapes of the simple values of R4 (https://hl7.org/fhir/R4/datatypes.html), with real calendar days.

Each check takes the text or number and returns what is wrong with it in plain words, or None. Values
are never quoted: a birth date is a simple value too.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

from bridge.fhir.forms import ID, UUID

MAX_TEXT = 1024 * 1024
"""Characters; the string page says SHALL NOT exceed 1 MB."""
_ZONE = r"(?P<zone>Z|[+-](?:(?:0\d|1[0-3]):[0-5]\d|14:00))"
_DAY = r"(?P<y>\d{4})-(?P<m>\d\d)-(?P<d>\d\d)"
_CLOCK = r"(?P<H>[01]\d|2[0-3]):(?P<M>[0-5]\d):(?P<S>[0-5]\d|60)(?:\.\d+)?"
_DATE = re.compile(r"(?P<y>\d{4})(?:-(?P<m>\d\d)(?:-(?P<d>\d\d))?)?", re.ASCII)
_INSTANT = re.compile(f"{_DAY}T{_CLOCK}{_ZONE}", re.ASCII)
_TIME = re.compile(_CLOCK, re.ASCII)
_CODE = re.compile(
    r"\S+(?: \S+)*", re.ASCII
)  # single spaces only, as the prose says; a blank is one of ASCII: table v2-0550 has no-break spaces
_ID = re.compile(ID)
_SPACE = re.compile(r"\s")
_OID = re.compile(r"urn:oid:[0-2](?:\.(?:0|[1-9][0-9]*))+")
_UUID = re.compile(UUID)
_BASE64 = re.compile(r"(?=.)(?:[A-Za-z0-9+/]{4})*+(?:[A-Za-z0-9+/]{2}==|[A-Za-z0-9+/]{3}=)?")
_BLANKS = re.compile(r"[ \t\r\n]+")
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")
_DAYS = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def date_problem(text: str) -> str | None:
    """`2010`, `2010-05` or `2010-05-03`."""
    found = _DATE.fullmatch(text)
    if not found:
        return "is not a date of the form 2010, 2010-05 or 2010-05-03"
    return _day(found["y"], found["m"], found["d"])


def date_time_problem(text: str) -> str | None:
    """A date, or a date with a time to the second and its zone."""
    if "T" not in text:
        return date_problem(text)
    return instant_problem(text)


def instant_problem(text: str) -> str | None:
    """A day with a time to the second and its zone."""
    found = _INSTANT.fullmatch(text)
    if not found:
        return "is not a time of the form 2010-05-03T10:15:00+01:00: day, seconds and zone are needed"
    problem = _day(found["y"], found["m"], found["d"])
    if problem is None and found["S"] == "60" and not _leap_second(found):
        return "has a second 60 that no leap second explains"
    return problem


def time_problem(text: str) -> str | None:
    return None if _TIME.fullmatch(text) else "is not a time of day of the form 10:15:00"


def _day(year: str, month: str | None, day: str | None) -> str | None:
    if year == "0000" or (month and not 1 <= int(month) <= 12):
        return "has a month or year that does not exist"
    if month and day:
        y, m, d = int(year), int(month), int(day)
        if not 1 <= d <= _DAYS[m - 1] or (m == 2 and d == 29 and (y % 4 or (y % 100 == 0 and y % 400))):
            return "is a day that does not exist"
    return None


def _leap_second(found: re.Match[str]) -> bool:
    """Leap seconds end 30 June or 31 December in universal time, at 23:59:60 (ITU-R TF.460)."""
    zone = found["zone"]
    offset = timedelta() if zone == "Z" else timedelta(hours=int(zone[1:3]), minutes=int(zone[4:]))
    moment = datetime(int(found["y"]), int(found["m"]), int(found["d"]), int(found["H"]), int(found["M"]))
    try:
        world = moment + (offset if zone[0] == "-" else -offset)
    except OverflowError:
        return False
    return (world.hour, world.minute) == (23, 59) and (world.date() + timedelta(days=1)) in (
        date(world.year, 7, 1),
        date(world.year, 12, 31) + timedelta(days=1) if world.year < date.max.year else None,
    )


def string_problem(text: str) -> str | None:
    return "is longer than a megabyte" if len(text) > MAX_TEXT else None


def code_problem(text: str) -> str | None:
    return None if _CODE.fullmatch(text) else "is not a code: it starts or ends with a blank, or holds two in a row"


def id_problem(text: str) -> str | None:
    return None if _ID.fullmatch(text) else "is not an id: 1 to 64 letters, digits, hyphens and full stops"


def uri_problem(text: str) -> str | None:
    """An address or name; OIDs and UUIDs in it have their own form, before a #fragment."""
    if _SPACE.search(text):
        return "is not an address: it holds a blank"
    low = text[:9].lower()
    if low.startswith(("oid:", "uuid:")):
        return "is not an address: an OID or UUID begins with urn:"
    if low.startswith("urn:oid:"):
        return oid_problem(text.partition("#")[0])
    return uuid_problem(text.partition("#")[0].lower()) if low == "urn:uuid:" else None


def canonical_problem(text: str) -> str | None:
    """An address that may be followed by |version and #fragment."""
    if _SPACE.search(text):
        return "is not an address: it holds a blank"
    return uri_problem(text.partition("#")[0].partition("|")[0])


def oid_problem(text: str) -> str | None:
    return None if _OID.fullmatch(text) else "is not an OID of the form urn:oid:1.2.3"


def uuid_problem(text: str) -> str | None:
    return None if _UUID.fullmatch(text) else "is not a UUID of the form urn:uuid:, then 8-4-4-4-12 small hex digits"


def base64_problem(text: str) -> str | None:
    """Blanks may stand anywhere (RFC 2045)."""
    return None if _BASE64.fullmatch(_BLANKS.sub("", text)) else "is not Base64 data"


def looks_blank(text: str) -> str | None:
    """Allowed, but most likely not meant: only blanks, or control characters (the string page's SHOULD)."""
    if text.isspace():
        return "holds only blanks"
    return "holds control characters" if _CONTROL.search(text) else None


def integer_problem(value: Any) -> str | None:
    return _range(value, -(2**31))


def unsigned_problem(value: Any) -> str | None:
    return _range(value, 0)


def positive_problem(value: Any) -> str | None:
    return _range(value, 1)


def _range(value: Any, least: int) -> str | None:
    if not isinstance(value, int):
        return "is not a whole number"
    return None if least <= value < 2**31 else f"is not a whole number from {least:,} to {2**31 - 1:,}"


def decimal_problem(value: Any) -> str | None:
    finite = value.is_finite() if isinstance(value, Decimal) else isinstance(value, int) or math.isfinite(value)
    return None if finite else "is not a number"


TEXTS: dict[str, Callable[[str], str | None]] = {
    "base64Binary": base64_problem,
    "canonical": canonical_problem,
    "code": code_problem,
    "date": date_problem,
    "dateTime": date_time_problem,
    "id": id_problem,
    "instant": instant_problem,
    "markdown": string_problem,
    "oid": oid_problem,
    "string": string_problem,
    "time": time_problem,
    "uri": uri_problem,
    "url": uri_problem,
    "uuid": uuid_problem,
    "xhtml": string_problem,
}
NUMBERS: dict[str, Callable[[Any], str | None]] = {
    "decimal": decimal_problem,
    "integer": integer_problem,
    "positiveInt": positive_problem,
    "unsignedInt": unsigned_problem,
}
MOMENTS = frozenset({"date", "dateTime", "instant", "time"})
