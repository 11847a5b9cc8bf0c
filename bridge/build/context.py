"""What every builder needs: the visit, its identifiers, the zone, and references to what stands beside."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any
from zoneinfo import ZoneInfo

from bridge.ear_words import Ear, Stage
from bridge.fhir.ids import Ids, reference
from bridge.fhir.own import coding
from bridge.regions import Region, region
from bridge.same_clinic import NOT_NAMED, folded, of_another
from bridge.shapes import Alert
from bridge.visit import Clinic, Visit

Json = dict[str, Any]
HOME = "uk"
"""The region whose rules hold where nobody names another."""


@dataclass(frozen=True, slots=True)
class Built:
    """A resource with what the section plan and the links need to know of it."""

    topic: str
    """What it tells, e.g. `patient`, `wax-state`, `work`; section plans name topics."""
    resource: Json
    ear: Ear | None = None
    stage: Stage | None = None

    @property
    def id(self) -> str:
        return str(self.resource["id"])


@dataclass(frozen=True, slots=True)
class Context:
    visit: Visit
    ids: Ids
    zone: ZoneInfo
    region: Region = field(default_factory=lambda: region(HOME))
    language: str = "en-GB"
    """Language tag of what is written."""
    licensed: bool = False
    alerts: tuple[Alert, ...] = ()
    """Red flags that stand, for the letter's first section."""
    left: Mapping[str, int] = field(default_factory=dict)
    """How many things of each kind the recipient's cut left with the clinic, by key of the catalogue."""
    own: Clinic | None = None
    """The practice's own clinic, where it is known."""
    earlier: Context | None = None
    """The version that a correction replaces, built for the same reader; None where it is not known."""
    built: list[Built] = field(default_factory=list)
    """Everything built so far, in order."""

    @property
    def theirs(self) -> tuple[str, ...]:
        """What tells people and places of another clinic's visit from our own under the same key; nothing for ours.

        Two visits of clinics that nobody named may be of two clinics: each stands for itself.
        """
        clinic = self.visit.clinic
        if clinic is None or not of_another(clinic, self.own):
            return ()
        return (folded(clinic.name), *((self.visit.number,) if clinic.name == NOT_NAMED.name else ()))

    def keys(self, kind: str) -> str:
        """The system of keys of people or places, as whose visit it is numbers them."""
        return self.ids.system(" of ".join([kind, *self.theirs]))

    def make(self, topic: str, type: str, parts: Sequence[object], body: Json, **place: Any) -> Built:
        """A resource of this visit with a stable id, added to what is built.

        `parts` tell it from its like within the visit.
        """
        id = self.ids.of(type, self.visit.number, *parts)
        return self.add(topic, {"resourceType": type, "id": id, **body}, **place)

    def add(self, topic: str, resource: Json, **place: Any) -> Built:
        built = Built(topic, resource, **place)
        self.built.append(built)
        return built

    def local_identifier(self, *parts: object) -> Json:
        """The practice's own identifier of one of its resources, for conditional updates."""
        return {"system": self.ids.system("resource"), "value": "/".join(map(str, parts))}

    def fact_identifier(self, *parts: object) -> list[Json]:
        return [self.local_identifier(self.visit.number, *parts)]

    @property
    def patient(self) -> Json:
        return reference(self.ids.client(self.visit.client))

    @property
    def encounter(self) -> Json:
        return reference(self.ids.of("Encounter", self.visit.number))

    @property
    def clinic(self) -> Json:
        return reference(self.clinic_id)

    @property
    def clinic_id(self) -> str:
        return self.ids.of("Organization", "clinic", *self.theirs)

    @property
    def device(self) -> Json:
        return reference(self.ids.of("Device", "visit-bridge"))

    def practitioner(self, key: str) -> Json:
        return reference(self.practitioner_id(key))

    def practitioner_id(self, key: str) -> str:
        return self.ids.of("Practitioner", key, *self.theirs)

    @property
    def practitioners(self) -> list[Json]:
        return [self.practitioner(p.key) for p in self.visit.practitioners]


def one(name: str) -> Json:
    """CodeableConcept of one verified code."""
    return {"coding": [coding(name)]}


def ref_to(built: Built) -> Json:
    return reference(built.id)
