"""A received bundle by type, reference and kind, so that each reader finds what it needs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple, TypeVar

from bridge.fhir.elements import ear_of
from bridge.fhir.own import word
from bridge.fhir.tell.observation import kind_of, parts

Json = dict[str, Any]
Found = TypeVar("Found", Json, Json | None)
_BY_REFERENCE = ("Organization", "Device")


class Index:
    """Resources of one bundle in their order, and which of them a reader has used."""

    def __init__(self, bundle: Json) -> None:
        self.bundle = bundle
        self.by_url: dict[str, Json] = {}
        self.all: list[Json] = []
        self._used: set[int] = set()
        for entry in bundle.get("entry", ()):
            resource = entry.get("resource")
            if isinstance(resource, dict):
                self.all.append(resource)
                self.by_url[entry.get("fullUrl", "")] = resource
                self.by_url[f"{resource.get('resourceType')}/{resource.get('id')}"] = resource
        self._observations: dict[str, list[_Observed]] = {}
        for observation in self.of_type("Observation"):
            self._observations.setdefault(kind_of(observation), []).append(_observed(observation))

    def use(self, resource: Found) -> Found:
        """The same resource, noted as one that is told in the visit."""
        if resource is not None:
            self._used.add(id(resource))
        return resource

    def unused(self) -> Iterator[tuple[int, Any]]:
        """Number and content of each entry that no reader has used."""
        for number, entry in enumerate(self.bundle.get("entry", ())):
            resource = entry.get("resource")
            if id(resource) not in self._used:
                yield number, resource

    def of_type(self, type: str) -> Iterator[Json]:
        """Those of a type; whoever takes one into the visit calls `use`."""
        return (r for r in self.all if r["resourceType"] == type)

    def only(self, type: str) -> Json | None:
        """The one resource of a type, used; None where there is none or more than one."""
        found = list(self.of_type(type))
        return self.use(found[0]) if len(found) == 1 else None

    def at(self, reference: Json | None) -> Json | None:
        """What a reference leads to; used where it is of a type that a visit knows only through references."""
        found = self.by_url.get((reference or {}).get("reference", ""))
        return self.use(found) if found and found["resourceType"] in _BY_REFERENCE else found

    def observations(
        self, kind: str, *, ear: str | None = None, stage: str | None = None, part_of: str | None = None
    ) -> list[Json]:
        """Observations of our own kind, about an `ear`, at a `stage`, `part_of` a Procedure's fullUrl; all used."""
        return [self.use(o) for o in self._seen(kind, ear, stage, part_of)]

    def observation(
        self, kind: str, *, ear: str | None = None, stage: str | None = None, part_of: str | None = None
    ) -> Json | None:
        """The first of them, used; a second one has no place in the visit and stays unused."""
        return self.use(next(self._seen(kind, ear, stage, part_of), None))

    def _seen(self, kind: str, ear: str | None, stage: str | None, part_of: str | None) -> Iterator[Json]:
        for seen in self._observations.get(kind, ()):
            whole = part_of is None or part_of in seen.part_of
            if whole and ear in (None, seen.ear) and stage in (None, seen.stage):
                yield seen.observation


class _Observed(NamedTuple):
    observation: Json
    ear: str | None
    stage: str | None
    part_of: frozenset[str]


def _observed(observation: Json) -> _Observed:
    wholes = frozenset(str(p.get("reference")) for p in observation.get("partOf", ()))
    return _Observed(observation, ear_of(observation.get("bodySite")), _stage_of(observation), wholes)


def _stage_of(observation: Json) -> str | None:
    for component in parts(observation).get("exam-stage", ()):
        return word("stage", component.get("valueCodeableConcept"))
    return None
