"""Which kind of fact a resource is in a summary of many visits: what its state says decides, not where it came from."""

from __future__ import annotations

from bridge.build.context import Built
from bridge.shapes import Json


def heading_topic(built: Built) -> str:
    """The topic that mappings/documents/ips.yaml lists under a heading; its own where nothing more is to be told."""
    type, topic = str(built.resource["resourceType"]), built.topic
    if type == "Condition":
        return _condition(built.resource, topic)
    if type == "Procedure":
        return "work-not-done" if built.resource["status"] == "not-done" else "procedure"
    if type == "Flag":
        return "alert" if built.resource["status"] == "active" else "caution-told"
    return _BY_TYPE.get(type) or _TOLD.get((type, topic), topic)


_BY_TYPE = {
    "DeviceUseStatement": "device-use",
    "MedicationAdministration": "product-given",
    "MedicationStatement": "medicine",
}
_TOLD = {("Observation", "past-event"): "past-event-told", ("Observation", "caution"): "caution-told"}


def _condition(condition: Json, topic: str) -> str:
    """What is denied is no problem, past or present; an event in words that nobody could read may be a denial."""
    verification = code_of(condition.get("verificationStatus"))
    if verification == "refuted":
        return "ruled-out"
    if topic == "past-event" and not verification:
        return "past-event-told"
    return "problem" if code_of(condition["clinicalStatus"]) == "active" else "past-problem"


def code_of(concept: Json | None) -> str:
    """The first code of a concept; empty without one."""
    return next((str(c["code"]) for c in (concept or {}).get("coding", ())), "")
