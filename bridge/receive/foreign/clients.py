"""Whom each resource of a bundle is about, so that two clients are never mixed."""

from __future__ import annotations

from bridge.receive.foreign.addresses import Addresses
from bridge.receive.foreign.nodes import Node, root
from bridge.receive.foreign.sources import Source

_ABOUT = ("subject", "patient", "for", "beneficiary")
CLINICAL = frozenset(
    (
        "AllergyIntolerance", "CarePlan", "Condition", "Encounter", "Flag", "Immunization", "MedicationRequest",
        "MedicationStatement", "Observation", "Procedure", "ServiceRequest", "Communication", "Consent",
        "DiagnosticReport",
    )
)  # fmt: skip
"""Types that must say whom they are about."""


_LABELS = {
    ("http://terminology.hl7.org/CodeSystem/v3-Confidentiality", "R"),
    ("http://terminology.hl7.org/CodeSystem/v3-Confidentiality", "V"),
    ("http://terminology.hl7.org/CodeSystem/v3-ActReason", "HTEST"),
}
"""Security labels that a receiver must know of: restricted, very restricted, test data."""


def restricted(node: Node) -> bool:
    labels = node.at("meta").each("security")
    return any((label.text("system"), label.text("code")) in _LABELS for label in labels)


def subject(source: Source, addresses: Addresses) -> Source | str | None:
    """The Patient of a resource; `other` where it names somebody or something else, `unclear` where it names one that
    is not here, two, or none although it should; None where the type is about nobody."""
    node = root(source)
    if source.type == "Patient":
        return source
    if any(node.has(f"_{key}") for key in _ABOUT):
        return "unclear"
    references = [node.at(key) for key in _ABOUT if node.has(key)]
    if not references:
        return "unclear" if source.type in CLINICAL else None
    found = {_patient(addresses.find(reference)) for reference in references}
    return found.pop() if len(found) == 1 else "unclear"


def _patient(found: Node | None) -> Source | str:
    if found is None:
        return "unclear"
    if found.text("resourceType") != "Patient":
        return "other"
    return found.source if not found.path else "unclear"


def encounter_of(source: Source, addresses: Addresses) -> Source | str:
    """The Encounter that a resource names; `none` where it names none, `unclear` where it leads nowhere."""
    node = root(source)
    for key in ("encounter", "context"):
        if node.has(key) or node.has(f"_{key}"):
            found = addresses.find(node.at(key))
            named = found is not None and not found.path and found.text("resourceType") == "Encounter"
            return found.source if named and found else "unclear"
    return "none"
