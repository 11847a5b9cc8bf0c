"""D: what the letters of a region must hold beyond what every record is asked for."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from bridge.fhir.languages import language_tag
from bridge.issues import Issue, Where, issue
from bridge.regions import Demand, Region
from bridge.visit import Visit


def check_demands(visit: Visit, region: Region) -> Iterator[Issue]:
    """D150 for each demand of the region that a prepared visit does not meet; D152 for a language without tag."""
    yield from _language(visit)
    for demand in region.demands:
        for thing, path in _things(visit, demand):
            value = thing
            for name in demand.field.removeprefix(demand.at).strip(".").split("."):
                value = getattr(value, name, None)
            met = value == demand.value if demand.value else bool(value)
            if not met and _counts(thing, demand):
                message = f"{demand.told} Letters of this region want it under {demand.heading}."
                yield issue("D150", message, Where(path=path, record=visit.number), cause=f"D150:{demand.field}")


def _counts(thing: Any, demand: Demand) -> bool:
    """Whether the demand is made of this one."""
    excused = bool(demand.unless) and bool(getattr(thing, demand.unless))
    return not excused and (not demand.where or bool(getattr(thing, demand.where)))


def _language(visit: Visit) -> Iterator[Issue]:
    if visit.client.language and language_tag(visit.client.language) is None:
        message = "The words for the client’s language stand for no language tag; it goes out as undetermined."
        yield issue("D152", message, Where(path="client.language", record=visit.number), cause="D152")


def _things(visit: Visit, demand: Demand) -> Iterator[tuple[Any, str]]:
    """What must have it, each with the field's path: the visit itself, or the things of one of its fields."""
    if not demand.at:
        yield visit, demand.field
        return
    last = demand.field.removeprefix(f"{demand.at}.")
    found = getattr(visit, demand.at)
    if isinstance(found, tuple):
        for number, thing in enumerate(found):
            yield thing, f"{demand.at}[{number}].{last}"
    elif found is not None and demand.answered in ("", getattr(found, "answer", "")):
        yield found, f"{demand.at}.{last}"
