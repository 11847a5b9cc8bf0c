"""What the International Patient Summary asks of a resource beyond R4, and the claim in meta.profile that it is so.

The guide wants some elements that a record may lack. Where nothing is known, the element says so by the standard's
data-absent-reason extension, as the guide advises; nothing is made up. A type without a profile of the guide that it
could meet makes no claim: Observations here are neither laboratory results nor images, and the software's Device
observes nothing.
"""

from __future__ import annotations

from bridge.build.context import Built, Json
from bridge.fhir.own import coding

CANONICAL = "http://hl7.org/fhir/uv/ips/StructureDefinition/"
"""IPS 2.0.0, package hl7.fhir.uv.ips."""
DATA_ABSENT = "http://hl7.org/fhir/StructureDefinition/data-absent-reason"
PROFILES = {
    "AllergyIntolerance": "AllergyIntolerance-uv-ips",
    "Bundle": "Bundle-uv-ips",
    "Composition": "Composition-uv-ips",
    "Condition": "Condition-uv-ips",
    "DeviceUseStatement": "DeviceUseStatement-uv-ips",
    "Flag": "Flag-alert-uv-ips",
    "MedicationStatement": "MedicationStatement-uv-ips",
    "Organization": "Organization-uv-ips",
    "Patient": "Patient-uv-ips",
    "Practitioner": "Practitioner-uv-ips",
    "PractitionerRole": "PractitionerRole-uv-ips",
    "Procedure": "Procedure-uv-ips",
}


def claim(built: Built) -> None:
    """Fills what the profile of the resource asks for, and claims it."""
    resource = built.resource
    type = resource["resourceType"]
    if type == "Flag" and resource["status"] != "active":
        return  # the profile is of alerts in force
    _fill(resource, type)
    name = "Device-uv-ips" if built.topic == "hearing-aid-device" else PROFILES.get(type)
    if name:
        claimed(resource, name)
    for inner in resource.get("contained", ()):
        claimed(inner, "Medication-uv-ips")


def claimed(resource: Json, name: str) -> None:
    """Claims the profile; meta comes behind the id, as the standard orders members."""
    rest = {k: resource.pop(k) for k in list(resource) if k not in ("resourceType", "id")}
    resource.update({"meta": {"profile": [CANONICAL + name]}, **rest})


def _fill(resource: Json, type: str) -> None:
    if type == "Condition":
        resource["category"] = [_listed(resource["category"])]
    elif type == "Patient" and "birthDate" not in resource:
        resource["_birthDate"] = _absent("unknown")
    elif type == "Procedure" and not _has(resource, "performed"):
        resource["_performedDateTime"] = _absent("not-applicable" if resource["status"] == "not-done" else "unknown")
    elif type == "MedicationStatement" and not _has(resource, "effective"):
        resource["_effectiveDateTime"] = _absent("unknown")
    elif type == "DeviceUseStatement" and not _has(resource, "timing"):
        resource["_timingDateTime"] = _absent("unknown")
    elif type == "Organization" and "name" not in resource:
        resource["_name"] = _absent("unknown")
    elif type == "Practitioner" and "name" not in resource:
        resource["name"] = [_absent("unknown")]


def _listed(categories: list[Json]) -> Json:
    """One category with all codes, the problem list's among them: the guide wants it in each, and its place behind
    the encounter's keeps a diagnosis of one visit from passing for a standing problem."""
    codings = [c for category in categories for c in category["coding"]]
    texts = [category["text"] for category in categories if "text" in category]
    on_list = (
        [] if "problem-list-item" in {c["code"] for c in codings} else [coding("condition-category:problem-list-item")]
    )
    return {"coding": [*codings, *on_list], **({"text": texts[0]} if texts else {})}


def _has(resource: Json, choice: str) -> bool:
    return any(key.startswith(choice) for key in resource)


def _absent(reason: str) -> Json:
    return {"extension": [{"url": DATA_ABSENT, "valueCode": reason}]}
