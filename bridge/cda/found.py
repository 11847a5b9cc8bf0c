"""What has been read of a document: resources by their ids, in the order in which they were met."""

from __future__ import annotations

from collections import deque
from typing import Any
from uuid import UUID, uuid5

from bridge.cda.oids import is_uuid
from bridge.shapes import Json

_FOREIGN = UUID("8dd29971-8049-4222-9eff-855403ab0390")
"""Made once; ids of what another system's document does not number follow from it."""


class Found:
    """Resources, each kept once; what is told of one more than once, the first time counts.

    `seed` tells one document from another: it makes the ids of what has none.
    """

    def __init__(self, seed: str) -> None:
        self.resources: dict[str, Json] = {}
        self._seed = seed
        self._made = 0
        self._numbered: dict[str, str] = {}

    def keep(self, type: str, ids: list[str], said: Json) -> Json:
        """Keeps a resource of this type under the first of the ids, or under a new one; the Reference to it.

        Without ids, one of the type that has the same identifiers is the same.
        """
        id = ids[0] if ids else self._known(type, said) or self._new(type)
        if self.resources.get(id, {}).get("resourceType", type) != type:
            id = self._new(type)
        known = self.resources.setdefault(id, {"resourceType": type, "id": id})
        for key, value in said.items():
            known.setdefault(key, value)
        if said.get("identifier"):
            self._numbered.setdefault(f"{type} {said['identifier']}", id)
        return {"reference": f"urn:uuid:{id}" if is_uuid(id) else f"{type}/{id}"}

    def _known(self, type: str, said: Json) -> str | None:
        numbers = said.get("identifier")
        return self._numbered.get(f"{type} {numbers}") if numbers else None

    def _new(self, type: str) -> str:
        self._made += 1
        return str(uuid5(_FOREIGN, f"{self._seed}\x1f{type}\x1f{self._made}"))

    def at(self, reference: Json) -> Json | None:
        """The resource that a Reference of `keep` points at."""
        target = str(reference.get("reference", ""))
        return self.resources.get(target.removeprefix("urn:uuid:").rpartition("/")[2])


def reached_from(start: Json, found: Found) -> list[Json]:
    """The resource that a Reference points at, and all that it leads to, in the order in which they are met.

    Those who speak for the client lead to the client and not back: they become the client's contacts.
    """
    _contacts(found)
    resources, waiting = dict[int, Json](), deque([start])
    while waiting:
        resource = found.at(waiting.popleft())
        if resource is not None and id(resource) not in resources:
            resources[id(resource)] = resource
            waiting += _references(resource)
    return list(resources.values())


def _contacts(found: Found) -> None:
    for person in list(found.resources.values()):
        patient = found.at(person.get("patient") or {}) if person["resourceType"] == "RelatedPerson" else None
        if patient is not None:
            said: Json = {key: person[key] for key in ("relationship", "telecom") if key in person}
            first: Json = {key: person[key][0] for key in ("name", "address") if person.get(key)}
            if said or first:
                patient.setdefault("contact", []).append({**said, **first})


def _references(value: Any) -> list[Json]:
    if isinstance(value, dict):
        here = [value] if isinstance(value.get("reference"), str) else []
        return [*here, *(one for inner in value.values() for one in _references(inner))]
    return [one for inner in value for one in _references(inner)] if isinstance(value, list) else []
