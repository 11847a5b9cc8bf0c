"""What comes of a bundle that another system wrote: visits, what is kept as it came, and an account of every leaf."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from bridge.issues import Issue
from bridge.shapes import Json
from bridge.visit import Visit

State = Literal["in the visit", "in part", "kept", "of the parcel"]


@dataclass(frozen=True, slots=True)
class AccountLine:
    """What became of one resource, or, with the state `of the parcel`, of what the bundle says around its resources."""

    path: str
    """`Bundle.entry[3].resource`; `Bundle` for what is around the resources."""
    type: str
    state: State
    """`in the visit`: only addresses, dates of filing and words made from the rest are not in one; `in part`: something
    of substance is not; `kept`: nothing is."""
    visit: str = ""
    """Number of the visit that holds of it what is held."""
    elements: tuple[str, ...] = ()
    """Every leaf that is in no visit, from the resource on (`code.coding[0].display`)."""
    what: str = ""
    """What the resource is about in its own words, for a person to read. It is client data."""


@dataclass(slots=True)
class Foreign:
    """Nothing of a bundle is missing here: a leaf is in a visit, or its resource is in `kept` and it is named."""

    visits: list[Visit] = field(default_factory=list)
    kept: list[Json] = field(default_factory=list)
    """Whole resources, unchanged, in their order."""
    account: list[AccountLine] = field(default_factory=list)
    issues: list[Issue] = field(default_factory=list)
    urls: list[str] = field(default_factory=list)
    """The full URL of each kept resource, by which others refer to it; empty where the bundle gave none."""
    kept_of: list[tuple[int, ...]] = field(default_factory=list)
    """For each kept resource the places in `visits` of the visits that belong to its client; empty: no client, or
    a client who has no visit here."""
    whose: dict[str, tuple[int, ...]] = field(default_factory=dict)
    """The same for the path of every resource."""


def kept_bundle(foreign: Foreign) -> Json | None:
    """The kept resources as a Bundle of type collection, from which references still lead where they led."""
    if not foreign.kept:
        return None
    entries = [
        {**({"fullUrl": url} if url else {}), "resource": resource}
        for url, resource in zip(foreign.urls, foreign.kept, strict=True)
    ]
    return {"resourceType": "Bundle", "type": "collection", "entry": entries}
