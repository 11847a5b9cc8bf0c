"""A received bundle by type, reference and kind, so that each reader finds what it needs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

from bridge.fhir.elements import ear_of
from bridge.fhir.own import word
from bridge.fhir.tell.observation import kind_of, parts

Json = dict[str, Any]


class Index:
    """Resources of one bundle in their order."""

    def __init__(self, bundle: Json) -> None:
        self.bundle = bundle
        self.by_url: dict[str, Json] = {}
        self.all: list[Json] = []
        for entry in bundle.get("entry", ()):
            resource = entry.get("resource")
            if isinstance(resource, dict):
                self.all.append(resource)
                self.by_url[entry.get("fullUrl", "")] = resource
                self.by_url[f"{resource.get('resourceType')}/{resource.get('id')}"] = resource
        self._observations: dict[str, list[_Observed]] = {}
        for observation in self.of_type("Observation"):
            self._observations.setdefault(kind_of(observation), []).append(_observed(observation))

    def of_type(self, type: str) -> Iterator[Json]:
        return (r for r in self.all if r["resourceType"] == type)

    def only(self, type: str) -> Json | None:
        """The one resource of a type; None where there is none or more than one."""
        found = list(self.of_type(type))
        return found[0] if len(found) == 1 else None

    def at(self, reference: Json | None) -> Json | None:
        return self.by_url.get((reference or {}).get("reference", ""))

    def observations(
        self, kind: str, *, ear: str | None = None, stage: str | None = None, part_of: str | None = None
    ) -> list[Json]:
        """Observations of our own kind, about an `ear`, at a `stage`, `part_of` a Procedure's fullUrl."""
        return [
            seen.observation
            for seen in self._observations.get(kind, ())
            if ear in (None, seen.ear) and stage in (None, seen.stage) and (part_of is None or part_of in seen.part_of)
        ]


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
