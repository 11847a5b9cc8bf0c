"""What the practitioner thought, as sure as they were; a suspicion is talked about, not printed."""

from __future__ import annotations

from bridge.fhir.plain.lay import lay
from bridge.fhir.tell.observation import kind_of
from bridge.fhir.tell.words import upper_first
from bridge.shapes import Json
from bridge.wording import say

_DOUBT = frozenset({"provisional", "unconfirmed", "differential"})


def condition(resource: Json) -> str:
    """One sentence; empty for what was ruled out and is better not named."""
    verification, clinical = (_codes(resource.get(key)) for key in ("verificationStatus", "clinicalStatus"))
    doubted = bool(verification & _DOUBT)
    told = lay(resource.get("code"), sure=not doubted)
    if "refuted" in verification:
        return say("copy.think.absent", what=told.words) if told.how == "named" else ""
    if told.how == "kept":
        return say("copy.think.look")
    if told.how == "noted":
        return say("copy.part.noted", what=told.words)
    if doubted:
        return say("copy.think.maybe", what=told.words)
    key = "over" if "resolved" in clinical else "past" if "inactive" in clinical else "named"
    return say(f"copy.think.{key}", what=upper_first(told.words))


def no_impression(observation: Json) -> str:
    """That nothing was thought to be out of the ordinary."""
    return say("copy.think.none") if kind_of(observation) == "no-impression" else ""


def _codes(concept: Json | None) -> set[str]:
    return {str(c.get("code")) for c in (concept or {}).get("coding", ())}
