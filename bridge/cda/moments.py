"""Moments and periods: FHIR dateTime and CDA TS, each with as much as is known and no more.

A moment of FHIR has an offset wherever it has a time; where a TS has none, its day is all that is taken over.
"""

from __future__ import annotations

import re
from typing import Any

from bridge.cda.xml import Node, node, one, typed
from bridge.shapes import Json

_FHIR = re.compile(r"(\d{4})(?:-(\d\d)(?:-(\d\d)(?:T(\d\d):(\d\d):(\d\d)(\.\d+)?(Z|[+-]\d\d:\d\d))?)?)?")
_TS = re.compile(r"(\d{4})(\d\d)?(\d\d)?(\d\d)?(\d\d)?(\d\d)?(\.\d{1,9})?([+-]\d{4})?")


def ts_text(when: Any) -> str | None:
    """The value of a TS for a FHIR date, dateTime or instant; None for anything else."""
    found = _FHIR.fullmatch(when) if isinstance(when, str) else None
    if found is None:
        return None
    *parts, zone = found.groups(default="")
    return "".join(parts) + ("+0000" if zone == "Z" else zone.replace(":", ""))


def when_of(text: str | None) -> str | None:
    """The FHIR date or dateTime of a TS value; None where it is none."""
    found = _TS.fullmatch(text or "")
    if found is None:
        return None
    year, month, day, hour, minute, second, fraction, zone = found.groups()
    when = "-".join(part for part in (year, month, day) if part)
    if not (hour and zone):
        return when
    return f"{when}T{hour}:{minute or '00'}:{second or '00'}{fraction or ''}{zone[:3]}:{zone[3:]}"


def ts(tag: str, when: Any, xsi_type: str | None = None) -> Node:
    """A moment; one that is no FHIR moment has the null flavour NI."""
    value = ts_text(when)
    return typed(node(tag, value=value, nullFlavor=None if value else "NI"), xsi_type)


def time_of(found: Node | None) -> str | None:
    """The moment of a TS; of an interval its start or, if it has none, its centre."""
    for place in (found, one(found, "low"), one(found, "center")):
        if place is not None and (when := when_of(place.get("value"))):
            return when
    return None


def ivl_ts(tag: str, period: Json, xsi_type: str | None = None) -> Node:
    """A Period as an interval; an end that is not known is left out, for then nothing is said of it."""
    ends = [ts(name, period[key]) for name, key in (("low", "start"), ("high", "end")) if period.get(key)]
    return typed(node(tag, *ends, nullFlavor=None if ends else "NI"), xsi_type)


def period_of(found: Node | None) -> Json | None:
    """The Period of an interval, or of a moment, which starts and ends it; None where neither is there."""
    if found is None:
        return None
    if moment := when_of(found.get("value")):
        return {"start": moment, "end": moment}
    ends = {"start": one(found, "low"), "end": one(found, "high")}
    known = {key: when for key, end in ends.items() if end is not None and (when := when_of(end.get("value")))}
    return known or None


def is_interval(found: Node | None) -> bool:
    """Whether this is an interval and no moment, by how it is written."""
    return found is not None and (one(found, "low") is not None or one(found, "high") is not None)
