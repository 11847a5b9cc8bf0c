"""Limits that a practice sets for its own rates, so that a scheduled run fails when one is missed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from bridge.audit.report.words import MEASURES, number, percent
from bridge.audit.shapes import Audited, Rate
from bridge.issues import Issue, issue
from bridge.practice.audit_limits import Ceilings, Floors

FLOORS = tuple(Floors.model_fields)
CEILINGS = tuple(field.alias or name for name, field in Ceilings.model_fields.items())


def missed(audited: Audited, floors: Mapping[str, float], ceilings: Mapping[str, float]) -> Iterator[Issue]:
    """A250 for each rate beyond its limit (in percent), A251 where there is nothing to hold against it."""
    for limits, below in ((floors, True), (ceilings, False)):
        for key, limit in limits.items():
            share, counts = _measured(audited, key)
            asked = f"at {'least' if below else 'most'} {limit:g} %"
            if share is None:
                yield issue("A251", f"The rate {key} cannot be measured here; {asked} is asked for.", cause=key)
            elif (share * 100 < limit) if below else (share * 100 > limit):
                yield issue("A250", f"The rate {key} is {percent(share)}{counts}; {asked} is asked for.", cause=key)


def _measured(audited: Audited, key: str) -> tuple[float | None, str]:
    if key == "consistency":
        return audited.consistency, ""
    if key == "agreement":
        told = audited.agreement[0] if audited.agreement else None
        return (told.percent if told else None), (f" over {number(told.things)} things" if told else "")
    rate: Rate = next(one for one in MEASURES if one.key == key).rate(audited)
    return rate.share, f" ({number(rate.count)} of {number(rate.of)})"
