"""What somebody changed in a document of ours on its way: made again from the visit that it tells, and compared."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import product
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from bridge.build import Options, build_collection, build_document
from bridge.regions import region_names
from bridge.shapes import Json
from bridge.visit import Visit
from bridge.wording.catalogue import languages

_NAMESPACE, _ZONE = UUID(int=0), ZoneInfo("UTC")
"""Whose it was cannot be told from a document, nor matters it: ids and their systems are not compared."""
_TELLING = frozenset(
    {
        "AllergyIntolerance", "CarePlan", "Communication", "Condition", "Consent", "Device", "DeviceUseStatement",
        "Encounter", "Flag", "MedicationStatement", "Observation", "Patient", "Procedure", "ServiceRequest", "Task",
    }
)  # fmt: skip
"""Types whose resources tell nothing but the visit. What heads and frames a letter tells more."""
_OF_FILING = frozenset({"id", "meta", "text"})
_OWN = re.compile(r"urn:oid:2\.25\.|(?:client/)?[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}\Z")
_LOCAL, _DAY = frozenset({"occurrencePeriod.end"}), 10
"""Moments that end with a day of the practice's own time zone."""

Leaf = tuple[str, str, str]
"""Path, the same without numbers of lists, and value."""


def changed(data: Json, visits: Sequence[Visit], kind: str) -> dict[int, list[str]]:
    """Leaves that visit-bridge would not write for such visits, by the number of the entry that they stand in.

    By the rules of which region and with which codes it was made is tried out; what fits best counts.
    """
    best: dict[int, list[str]] | None = None
    regions = sorted(region_names(), key=lambda name: name != Options().region)
    for language, region, licensed in product(_languages(data), regions, (False, True)):
        again = _again(data, visits, kind, Options(region, licensed, language))
        found = _differing(data, again)
        if best is None or len(found) < len(best):
            best = found
        if not best:
            break
    return best or {}


def _languages(data: Json) -> Sequence[str]:
    """The one that it says, or all that there are: a collection says none."""
    told = (data.get("language"), *(entry.get("resource", {}).get("language") for entry in data["entry"]))
    said = next((one for one in told if isinstance(one, str)), "").partition("-")[0]
    return [said] if said in languages() else list(languages())


def _again(data: Json, visits: Sequence[Visit], kind: str, options: Options) -> list[Json]:
    if data.get("type") == "document":
        made = [build_document(visit, _NAMESPACE, _ZONE, kind or "summary", options) for visit in visits]
    else:
        made = [build_collection(visit, _NAMESPACE, _ZONE, options=options) for visit in visits]
    return [entry["resource"] for bundle in made for entry in bundle["entry"]]


def _differing(data: Json, again: Sequence[Json]) -> dict[int, list[str]]:
    made: dict[tuple[str, ...], list[Counter[tuple[str, str]]]] = {}
    for resource in again:
        if resource["resourceType"] in _TELLING:
            made.setdefault(_known_as(resource), []).append(Counter(leaf[1:] for leaf in _leaves(resource)))
    found = {}
    for number, entry in enumerate(data["entry"]):
        resource = entry.get("resource", {})
        if resource.get("resourceType") in _TELLING:
            mine = list(_leaves(resource))
            tried = [_more(mine, one) for one in made.get(_known_as(resource), ())]
            if less := min(tried, key=len, default=[path for path, _, _ in mine]):
                found[number] = less
    return found


def _more(mine: Sequence[Leaf], made: Counter[tuple[str, str]]) -> list[str]:
    left, more = made.copy(), []
    for path, place, value in mine:
        if left[place, value] > 0:
            left[place, value] -= 1
        else:
            more.append(path)
    return more


def _known_as(resource: Json) -> tuple[str, ...]:
    """Type and numbers: those of observations tell what they observe."""
    told = resource.get("identifier", ()) if resource["resourceType"] != "Patient" else ()
    return (resource["resourceType"], *sorted(str(one.get("value")) for one in told if isinstance(one, dict)))


def _leaves(resource: Json) -> Iterator[Leaf]:
    waiting: list[tuple[str, str, Any]] = [(k, k, v) for k, v in resource.items() if k not in _OF_FILING]
    while waiting:
        path, place, node = waiting.pop()
        if isinstance(node, dict):
            waiting += [(f"{path}.{k}", f"{place}.{k}", v) for k, v in node.items() if k not in ("id", "reference")]
        elif isinstance(node, list):
            waiting += [(f"{path}[{at}]", place, item) for at, item in enumerate(node)]
        elif not _made_of_namespace(node):
            yield path, place, _spelt(node)[: _DAY if place in _LOCAL else None]


def _made_of_namespace(value: Any) -> bool:
    return isinstance(value, str) and bool(_OWN.match(value))


def _spelt(value: Any) -> str:
    if isinstance(value, (str, bool)) or value is None:
        return str(value)
    return str(Decimal(str(value)).normalize())
