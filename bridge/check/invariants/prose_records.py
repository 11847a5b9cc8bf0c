"""V: what the definitions of clinical, financial and workflow resources demand in prose.

Source: the definitions and comments of the elements named beside each function, in the published resources of R4.
Where they say SHALL or must, the page of the rule says error; where they only explain, a warning.
"""

from __future__ import annotations

from collections.abc import Iterator

from bridge.check.invariants.registry import each, invariant
from bridge.check.invariants.values import kind_of, number
from bridge.check.look import has, numbered, part, parts, text
from bridge.check.node import Node
from bridge.shapes import Json

_RISK = "http://hl7.org/fhir/StructureDefinition/allergyintolerance-substanceExposureRisk"
_MEMBERS = {
    "person": ("Patient",),
    "animal": ("Patient",),
    "practitioner": ("Practitioner", "PractitionerRole"),
    "device": ("Device",),
    "medication": ("Medication",),
    "substance": ("Substance",),
}
_SCHEMES = {
    "rest-hook": ("http", "https"),
    "websocket": ("http", "https", "ws", "wss"),
    "email": ("mailto",),
    "sms": ("tel",),
}


@each("V480", "AllergyIntolerance.code", "AllergyIntolerance")
def risk_instead_of_code(node: Json, at: Node) -> Iterator[str]:
    if "extension" in node and has(node, "code") and any(text(e, "url") == _RISK for e in parts(node, "extension")):
        yield ".code"


@each("V481", "Group.member.entity", "Group")
def members_of_the_type(node: Json, at: Node) -> Iterator[str]:
    """Comment of Group.type. Groups in groups may have members of any kind that is not in sight here."""
    allowed = _MEMBERS.get(text(node, "type"))
    for index, member in numbered(node, "member") if allowed else ():
        kind = kind_of(part(member, "entity"), at.resource)
        if kind and kind != "Group" and kind not in (allowed or ()):
            yield f".member[{index}].entity"


@each("V482", "insurance.focal", "Claim", "CoverageEligibilityRequest", "ExplanationOfBenefit")
def one_insurance_in_focus(node: Json, at: Node) -> Iterator[str]:
    yield from _later_ones(node, "insurance", "focal")


@each("V483", "Claim.insurance.claimResponse", "Claim.insurance")
def not_yet_answered(node: Json, at: Node) -> Iterator[str]:
    if node.get("focal") is True and "claimResponse" in node:
        yield ".claimResponse"


@each("V484", "AuditEvent.agent.requestor", "AuditEvent")
def one_initiator(node: Json, at: Node) -> Iterator[str]:
    yield from _later_ones(node, "agent", "requestor")


@invariant("V485", "MedicationRequest.dispenseRequest.initialFill", "MedicationRequest.dispenseRequest.initialFill")
def first_fill(node: Json, at: Node) -> bool:
    return has(node, "quantity", "duration")


@invariant("V486", "Invoice.cancelledReason", "Invoice")
def reason_of_cancelling(node: Json, at: Node) -> bool:
    return text(node, "status") != "cancelled" or has(node, "cancelledReason")


@each("V487", "Subscription.channel.endpoint", "Subscription.channel")
def endpoint_of_the_channel(node: Json, at: Node) -> Iterator[str]:
    """Relative ones are allowed; the schemes of the web sockets protocol are let through beside http and https."""
    allowed = _SCHEMES.get(text(node, "type"))
    scheme, colon, _ = text(node, "endpoint").partition(":")
    if allowed and colon and "/" not in scheme and scheme.lower() not in allowed:
        yield ".endpoint"


@each("V488", "VisionPrescription.lensSpecification.axis", "VisionPrescription.lensSpecification")
def axis_in_its_limits(node: Json, at: Node) -> Iterator[str]:
    axis = number(node.get("axis"))
    if axis is not None and not -180 <= axis <= 180:
        yield ".axis"


@each("V489", "Bundle.entry.search.score", "Bundle.entry.search")
def score_of_a_match(node: Json, at: Node) -> Iterator[str]:
    score = number(node.get("score"))
    if score is not None and not 0 <= score <= 1:
        yield ".score"


@each("V490", "List.entry.flag", "List")
def flags_of_changes(node: Json, at: Node) -> Iterator[str]:
    """The comment of List.entry.deleted has flags in lists of changes only, and lst-2 has a key for deleted alone."""
    for index, entry in numbered(node, "entry") if text(node, "mode") != "changes" else ():
        if "flag" in entry:
            yield f".entry[{index}].flag"


def _later_ones(node: Json, key: str, flag: str) -> Iterator[str]:
    """Places of the flags in a list that are true after one that is."""
    true = [number for number, row in numbered(node, key) if row.get(flag) is True]
    yield from (f".{key}[{n}].{flag}" for n in true[1:])
