"""One sentence in plain words for a resource, from the resource alone: narratives and letters are made of it."""

from __future__ import annotations

import re
from collections.abc import Callable
from html import unescape
from typing import Any

from bridge.ear_words import Ear
from bridge.fhir.elements import ear_of
from bridge.fhir.in_force import label as not_in_force
from bridge.fhir.in_force import withheld
from bridge.fhir.own import first_word
from bridge.fhir.tell.administrative import (
    tell_composition,
    tell_consent,
    tell_device,
    tell_encounter,
    tell_list,
    tell_organization,
    tell_patient,
    tell_practitioner,
    tell_practitioner_role,
    tell_provenance,
    tell_related_person,
)
from bridge.fhir.tell.around import (
    allergy_fact,
    around_subject,
    flag_fact,
    is_past_event,
    medication_fact,
    past_event_fact,
)
from bridge.fhir.tell.clinical import (
    care_plan_fact,
    communication_fact,
    condition_fact,
    procedure_fact,
    service_request_fact,
)
from bridge.fhir.tell.observation import said as observation_said
from bridge.fhir.tell.observation import stage_of
from bridge.fhir.tell.observation import subject as observation_subject
from bridge.fhir.tell.task import task_ears, task_fact
from bridge.fhir.tell.things import device_use_fact, media_fact
from bridge.fhir.tell.words import ear_words, sentence
from bridge.shapes import Json

_SAID: dict[str, Callable[[Json], str]] = {
    "AllergyIntolerance": allergy_fact,
    "CarePlan": care_plan_fact,
    "Communication": communication_fact,
    "Composition": tell_composition,
    "Condition": condition_fact,
    "Consent": tell_consent,
    "Device": tell_device,
    "DeviceUseStatement": device_use_fact,
    "Encounter": tell_encounter,
    "Flag": flag_fact,
    "List": tell_list,
    "Media": media_fact,
    "MedicationAdministration": medication_fact,
    "MedicationStatement": medication_fact,
    "Observation": observation_said,
    "Organization": tell_organization,
    "Patient": tell_patient,
    "Practitioner": tell_practitioner,
    "PractitionerRole": tell_practitioner_role,
    "Procedure": procedure_fact,
    "Provenance": tell_provenance,
    "RelatedPerson": tell_related_person,
    "ServiceRequest": service_request_fact,
    "Task": task_fact,
}
_TAG = re.compile(r"<[^>]*>")


def tell(resource: Json) -> str:
    """`Right ear, before the work: wax: impacted, 95% of the canal’s width, hard.`

    A resource type that we do not write is told by its own text, or by the name of its type.
    """
    where = [ear_words(side) for side in [ear(resource)] if side]
    where += [stage_of(resource)] if resource["resourceType"] == "Observation" else []
    place = ", ".join(w for w in where if w)
    return sentence(f"{place}: {fact(resource)}" if place else fact(resource))


def fact(resource: Json) -> str:
    """The same without the ear and the stage of the examination."""
    about, saying = subject(resource), said(resource)
    return f"{about}: {saying}" if about and saying else about or saying


def subject(resource: Json) -> str:
    """What the fact is about, where that is not in the fact itself: `eardrum`, `caution`."""
    return observation_subject(resource) if resource["resourceType"] == "Observation" else around_subject(resource)


def said(resource: Json) -> str:
    """What is said of the subject; what is not in force says so first."""
    mark = not_in_force(resource)
    if not mark:
        return _said(resource)
    return mark if withheld(resource) else f"{mark}: {_said(resource)}"


def _said(resource: Json) -> str:
    if is_past_event(resource):
        return past_event_fact(resource)
    make = _SAID.get(resource["resourceType"])
    return make(resource) if make else _own_text(resource) or str(resource["resourceType"])


def is_told(resource: Json) -> bool:
    """Whether there are words for this type of resource; others have only their own text."""
    return resource.get("resourceType") in _SAID


def ear(resource: Json) -> Ear | None:
    """The ear that a resource's body site or dosage names; a Flag's category and a Task's input, which have no site."""
    sites = _many(resource.get("bodySite"))
    sites += [dosage.get("site") for dosage in _many(resource.get("dosage"))]
    found: set[str] = {side for side in map(ear_of, sites) if side}
    if resource.get("resourceType") == "Flag" and (told := first_word("ear", _many(resource.get("category")))):
        found.add(told)
    if resource.get("resourceType") == "Task":
        found |= task_ears(resource)
    return ("right" if "right" in found else "left") if len(found) == 1 else None


def _many(value: Any) -> list[Any]:
    return value if isinstance(value, list) else [value] if value else []


def _own_text(resource: Json) -> str:
    """The resource's narrative as plain words."""
    return " ".join(unescape(_TAG.sub(" ", str(resource.get("text", {}).get("div", "")))).split())
