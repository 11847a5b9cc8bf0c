"""Elements that visit-bridge never writes, in a document that is otherwise ours: what somebody added on the way."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Any

from bridge.data import load_csv, table_path
from bridge.fhir.tell.observation import kind_of
from bridge.shapes import Json

_OF_SERVERS = frozenset(("meta.versionId", "meta.lastUpdated", "meta.source", "resourceType"))
"""What a server writes of its own filing."""


def added(resource: Json) -> list[str]:
    """Every leaf of a resource that stands where we write none, in order (`maritalStatus.text`)."""
    known = _known().get(sort_of(resource), frozenset())
    return [path for path, place in places(resource) if place not in known and place not in _OF_SERVERS]


def sort_of(resource: Json) -> str:
    """Its type, and of an observation of ours what it observes (`Observation/symptom`)."""
    type = str(resource.get("resourceType"))
    return f"{type}/{kind_of(resource)}" if type == "Observation" else type


def places(resource: Any) -> Iterator[tuple[str, str]]:
    """Each leaf with its path, and the same without numbers of lists; an extension is named by its URL."""
    waiting: list[tuple[str, str, Any]] = [("", "", resource)]
    while waiting:
        path, place, node = waiting.pop()
        if isinstance(node, dict) and node:
            before = "." if path else ""
            waiting += [(f"{path}{before}{k}", f"{place}{before}{k}", node[k]) for k in reversed(node)]
        elif isinstance(node, list) and node:
            waiting += [
                (f"{path}[{at}]", f"{place}{_url(place, node[at])}", node[at]) for at in range(len(node) - 1, -1, -1)
            ]
        else:
            yield path, place


def _url(place: str, item: Any) -> str:
    """Which extension it is, where it is one."""
    is_one = place.rpartition(".")[2] in ("extension", "modifierExtension") and isinstance(item, dict)
    return f"[{item.get('url')}]" if is_one else ""


@cache
def _known() -> dict[str, frozenset[str]]:
    found: dict[str, set[str]] = {}
    for row in load_csv(table_path("own-elements.csv")):
        found.setdefault(row["type"], set()).add(row["place"])
    return {type: frozenset(places) for type, places in found.items()}
