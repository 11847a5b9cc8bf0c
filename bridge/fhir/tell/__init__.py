"""One sentence in plain words for a resource, from the resource alone: narratives and letters are made of it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from bridge.fhir.tell.administrative import (
    tell_composition,
    tell_consent,
    tell_device,
    tell_encounter,
    tell_organization,
    tell_patient,
    tell_practitioner,
    tell_practitioner_role,
    tell_provenance,
)
from bridge.fhir.tell.clinical import (
    tell_care_plan,
    tell_communication,
    tell_condition,
    tell_procedure,
    tell_service_request,
)
from bridge.fhir.tell.observation import tell_observation

Json = dict[str, Any]

_TELL: dict[str, Callable[[Json], str]] = {
    "CarePlan": tell_care_plan,
    "Communication": tell_communication,
    "Composition": tell_composition,
    "Condition": tell_condition,
    "Consent": tell_consent,
    "Device": tell_device,
    "Encounter": tell_encounter,
    "Observation": tell_observation,
    "Organization": tell_organization,
    "Patient": tell_patient,
    "Practitioner": tell_practitioner,
    "PractitionerRole": tell_practitioner_role,
    "Procedure": tell_procedure,
    "Provenance": tell_provenance,
    "ServiceRequest": tell_service_request,
}


def tell(resource: Json) -> str:
    """A sentence without side effects; a resource type that we do not write gives its type's name."""
    return _TELL.get(resource["resourceType"], lambda r: str(r["resourceType"]))(resource)
