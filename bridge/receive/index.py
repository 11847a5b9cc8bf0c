"""What a received bundle tells of one visit by type, reference and kind, so that each reader finds what it needs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple, TypeVar

from bridge.fhir.elements import ear_of
from bridge.fhir.own import word
from bridge.fhir.tell.observation import kind_of, parts
from bridge.receive.apart import Addresses

Json = dict[str, Any]
Found = TypeVar("Found", Json, Json | None)
_BY_REFERENCE = ("Organization", "Device")


class Index:
    """Resources of one visit in their order, and which of them a reader has used."""

    def __init__(self, bundle: Json, addresses: Addresses, resources: list[Json]) -> None:
        self.bundle = bundle
        self.addresses = addresses
        self.all = resources
        self.used: set[int] = set()
        self._observations: dict[str, list[_Observed]] = {}
        for observation in self.of_type("Observation"):
            self._observations.setdefault(kind_of(observation), []).append(self._observed(observation))

    def use(self, resource: Found) -> Found:
        """The same resource, noted as one that is told in the visit."""
        if resource is not None:
            self.used.add(id(resource))
        return resource

    def of_type(self, type: str) -> Iterator[Json]:
        """Those of a type; whoever takes one into the visit calls `use`."""
        return (r for r in self.all if r["resourceType"] == type)

    def only(self, type: str) -> Json | None:
        """The one resource of a type, used; None where there is none or more than one."""
        found = list(self.of_type(type))
        return self.use(found[0]) if len(found) == 1 else None

    def at(self, reference: Json | None) -> Json | None:
        """What a reference leads to; used where it is of a type that a visit knows only through references."""
        found = self.addresses.find(reference)
        return self.use(found) if found and found["resourceType"] in _BY_REFERENCE else found

    def observations(
        self, kind: str, *, ear: str | None = None, stage: str | None = None, part_of: Json | None = None
    ) -> list[Json]:
        """Observations of our own kind, about an `ear`, at a `stage`, `part_of` a Procedure; all used."""
        return [self.use(o) for o in self._seen(kind, ear, stage, part_of)]

    def observation(
        self, kind: str, *, ear: str | None = None, stage: str | None = None, part_of: Json | None = None
    ) -> Json | None:
        """The first of them, used; a second one has no place in the visit and stays unused."""
        return self.use(next(self._seen(kind, ear, stage, part_of), None))

    def is_part(self, resource: Json, whole: Json) -> bool:
        return any(self.addresses.find(p) is whole for p in resource.get("partOf", ()))

    def _seen(self, kind: str, ear: str | None, stage: str | None, part_of: Json | None) -> Iterator[Json]:
        for seen in self._observations.get(kind, ()):
            whole = part_of is None or id(part_of) in seen.part_of
            if whole and ear in (None, seen.ear) and stage in (None, seen.stage):
                yield seen.observation

    def _observed(self, observation: Json) -> _Observed:
        wholes = frozenset(id(self.addresses.find(p)) for p in observation.get("partOf", ()))
        return _Observed(observation, ear_of(observation.get("bodySite")), _stage_of(observation), wholes)


class _Observed(NamedTuple):
    observation: Json
    ear: str | None
    stage: str | None
    part_of: frozenset[int]


def _stage_of(observation: Json) -> str | None:
    for component in parts(observation).get("exam-stage", ()):
        return word("stage", component.get("valueCodeableConcept"))
    return None
