"""The resources of a received bundle, each with its place, and the leaves of it that a visit holds."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from bridge.fhir.in_force import modified
from bridge.shapes import Json


@dataclass(slots=True, eq=False)
class Source:
    """One resource of the bundle."""

    resource: Json
    path: str
    url: str = ""
    readable: bool = True
    """False where its entry says that it is no statement: a deletion, an outcome, a version among others."""
    number: int = 0
    claimed: set[str] = field(default_factory=set)
    """Leaves that a visit holds."""
    meant: set[str] = field(default_factory=set)
    """Leaves whose meaning a visit holds in another way (a code that stands for a side)."""
    visit: str = ""
    _modified: bool | None = None

    @property
    def modified(self) -> bool:
        """Whether anything in it modifies its meaning; looked for once, since many may refer to it."""
        if self._modified is None:
            self._modified = modified(self.resource)
        return self._modified

    @property
    def type(self) -> str:
        kind = self.resource.get("resourceType")
        return kind if isinstance(kind, str) else ""


def sources(data: Any) -> list[Source]:
    """The resources of a bundle in their order; a single resource is one."""
    if not isinstance(data, dict):
        return []
    if data.get("resourceType") != "Bundle":
        return [Source(data, str(data.get("resourceType") or "Resource")[:60])]
    found: list[Source] = []
    for number, entry in _entries(data):
        resource = entry.get("resource")
        if isinstance(resource, dict):
            url = entry.get("fullUrl")
            path = f"Bundle.entry[{number}].resource"
            found.append(Source(resource, path, url if isinstance(url, str) else "", _states(entry), len(found)))
    return found


def around(data: Any) -> Any:
    """The bundle without the resources of its entries, for the account; a single resource has nothing around it."""
    if not isinstance(data, dict):
        return data
    if data.get("resourceType") != "Bundle":
        return {}
    entries = data.get("entry")
    if not isinstance(entries, list):
        return data
    return {**data, "entry": [_bare(entry) for entry in entries]}


def _bare(entry: Any) -> Any:
    if isinstance(entry, dict) and isinstance(entry.get("resource"), dict):
        return {key: value for key, value in entry.items() if key != "resource"} or None
    return entry


def _entries(bundle: Json) -> Iterator[tuple[int, Json]]:
    entries = bundle.get("entry")
    for number, entry in enumerate(entries if isinstance(entries, list) else ()):
        if isinstance(entry, dict):
            yield number, entry


def _states(entry: Json) -> bool:
    """Whether the entry hands its resource over as a fact."""
    search, request = entry.get("search"), entry.get("request")
    if isinstance(search, dict) and search.get("mode") == "outcome":
        return False
    return not isinstance(request, dict) or request.get("method") in ("POST", "PUT", None)
