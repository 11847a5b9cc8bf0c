"""What an act claims of its own: whether it is said to be so, said not to be so, or neither.

A reader of CDA who knows none of our templates takes a coded value for a finding and an act for done. So only what is
stated stands as a value. What is denied has the same value and `negationInd`. What is suspected, or was in words that
nobody could read, or is told as past in place of a finding, is open: it has no value but a null flavour (UNK), its
codes are translations of that. Where a value is no more than how sure its words are, it is qualified. Of both, the
original text is the whole sentence of the narrative, for the words alone (“perforation”) would read as a finding.
"""

from __future__ import annotations

from typing import Any, Literal

from bridge.fhir.own import first_word, own_code, word
from bridge.shapes import Json

Claim = Literal["stated", "denied", "open", "qualified"]

OPEN = "UNK"
"""The null flavour of a value that is not claimed."""
QUESTION = "finding-in-question"
OVER = frozenset({"inactive", "resolved", "remission"})


def claim_of(type: str, resource: Json, within: Json | None = None) -> Claim:
    """The claim of a resource; of an inner structure with the resource that it stands in."""
    if type == "Condition":
        return _verified(resource.get("verificationStatus"))
    if type == "AllergyIntolerance":
        return "denied" if _has(resource.get("verificationStatus"), "refuted") else "stated"
    if type == "Observation":
        return "qualified" if word("assertion", resource.get("valueCodeableConcept")) else "stated"
    if type == "Observation.component" and own_code(resource.get("code")) == QUESTION:
        return "denied" if word("assertion", (within or {}).get("valueCodeableConcept")) == "absent" else "open"
    if type == "MedicationStatement":
        doubt = first_word("assertion", _list(resource.get("statusReason"))) in ("suspected", "unread")
        return "open" if doubt or resource.get("status") == "unknown" else "stated"
    if type == "Consent":
        return "denied" if _dissents(resource) else "stated"
    if type == "ServiceRequest":
        return "denied" if resource.get("doNotPerform") is True else "stated"
    return "stated"


def is_mistaken(resource: Json) -> bool:
    """Whether a Condition or an allergy was entered in error, which its verification says."""
    return _has(resource.get("verificationStatus"), "entered-in-error")


def is_over(condition: Json) -> bool:
    """Whether a Condition or an allergy is told as no longer there."""
    return any(_has(condition.get("clinicalStatus"), code) for code in OVER)


def _verified(status: Any) -> Claim:
    if _has(status, "refuted"):
        return "denied"
    return "stated" if _has(status, "confirmed") else "open"


def _dissents(consent: Json) -> bool:
    provision = consent.get("provision")
    denied = isinstance(provision, dict) and provision.get("type") == "deny"
    return denied or _has(consent.get("policyRule"), "OPTOUT")


def _has(concept: Any, code: str) -> bool:
    codings = concept.get("coding") if isinstance(concept, dict) else None
    return any(isinstance(c, dict) and c.get("code") == code for c in _list(codings))


def _list(value: Any) -> list[Any]:
    return value if isinstance(value, list) else []
