"""Standing facts that visit after visit tells word for word alike: told once, by all of them.

What is standing is what the record itself keeps from visit to visit: cautions, allergies, the list of medicines,
what is known from before, standing problems, a hearing aid. What was found, measured, thought or done at a visit is
that visit's alone, however alike another's may be.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Sequence

from bridge.build.ips.gather import Told, point_to
from bridge.build.ips.headings import code_of
from bridge.shapes import Json

IMPRESSIONS = ("impression", "impression-unconfirmed")
STANDING = ("caution", "allergy", "medicine", "past-event", "hearing-aid", "hearing-aid-device")
_OF_THE_VISIT = (
    "id", "identifier", "encounter", "context", "recordedDate", "recordedOn", "dateAsserted", "recorder", "author",
    "evidence",
)  # fmt: skip
"""Members that say who told it when, or by which findings, not what."""
_NEWEST = ("context", "dateAsserted", "recordedOn")
"""Members that say when it was last told; the others are kept from when it was first recorded."""


def once(told: Sequence[Told]) -> list[Told]:
    """The same without those that an earlier visit has told alike; its resource takes over their identifiers."""
    first: dict[tuple[str, int], Told] = {}
    met = Counter[tuple[str, str]]()
    kept: list[Told] = []
    instead: dict[str, str] = {}
    for one in told:
        if not is_standing(one):
            kept.append(one)
            continue
        said = _said(one.built.resource, one.built.ear)
        met[one.visits[0].number, said] += 1
        earlier = first.setdefault((said, met[one.visits[0].number, said]), one)
        if earlier is one:
            kept.append(one)
        else:
            _take_over(earlier, one)
            instead[one.built.id] = earlier.built.id
    point_to(kept, instead)
    return kept


def is_standing(told: Told) -> bool:
    """Whether the fact is one that stands from visit to visit; Observations are always of their visit."""
    resource, topic = told.built.resource, told.built.topic
    if resource["resourceType"] == "Observation":
        return False
    if topic in IMPRESSIONS:
        return "problem-list-item" in {code_of(c) for c in resource["category"]}
    return topic in STANDING


def _said(resource: Json, ear: str | None) -> str:
    what = {k: v for k, v in resource.items() if k not in _OF_THE_VISIT}
    if "device" in what:
        what["device"] = what["device"].get("display")
    return json.dumps([ear, what], sort_keys=True, default=str)


def _take_over(earlier: Told, later: Told) -> None:
    earlier.visits += later.visits
    mine, theirs = earlier.built.resource, later.built.resource
    mine["identifier"] = [*mine["identifier"], *theirs["identifier"]]
    mine.update({k: theirs[k] for k in _NEWEST if k in theirs})
    if "evidence" in mine and "evidence" in theirs:
        mine["evidence"][0]["detail"] += theirs["evidence"][0]["detail"]
    elif "evidence" in theirs:
        mine["evidence"] = theirs["evidence"]
