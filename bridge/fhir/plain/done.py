"""What was done, how it felt and how it ended, in plain words."""

from __future__ import annotations

from bridge.fhir.own import first_word, own_code, word
from bridge.fhir.plain.lay import Lay, lay
from bridge.fhir.plain.seen import NOTHING, Pair, question
from bridge.fhir.tell.clinical import nothing_done, outcome_fits
from bridge.fhir.tell.observation import kind_of, parts
from bridge.fhir.tell.words import sentence, upper_first
from bridge.shapes import Json
from bridge.wording import language, say

_PAIN = ("pain-before", "pain-peak", "pain-after")


def procedure(resource: Json) -> list[Pair]:
    """How it was done and how it ended."""
    if nothing_done(resource):
        return [(say("client.work.how"), say("client.work.nothing"))]
    found = [(say("client.work.how"), said)] if (said := _method(resource)) else []
    return [*found, (say("client.work.end"), _end(resource))]


def _method(resource: Json) -> str:
    if resource.get("status") == "not-done":
        return ""
    concept = resource.get("code")
    key = f"client.work.how.{own_code(concept)}"
    if key in language().words:
        return say(key)
    told = lay(concept)
    return _told(told, say("client.work.how.said", what=told.words), "client.work.how.noted")


def _end(resource: Json) -> str:
    outcome, status = resource.get("outcome"), str(resource.get("status", ""))
    told = lay(outcome)
    if not outcome or not outcome_fits(resource):
        end = say("client.work.nothing") if not outcome and status == "not-done" else say("client.work.end.unknown")
    else:
        end = _told(told, told.words, "client.work.end.noted")
    why = lay(resource.get("statusReason")) if resource.get("statusReason") else None
    if why is None or why.how == "kept":
        return end
    return say("client.work.end.why", end=end, why=why.words if why.how == "named" else f"“{why.words}”")


def beside(observation: Json) -> Pair:
    """What stands beside the work: how it felt, what happened, what the client says of the hearing."""
    kind, concept = kind_of(observation), observation.get("valueCodeableConcept")
    told = lay(concept)
    if kind == "tolerance":
        return say("client.work.felt"), _told(told, told.words, "client.work.end.noted")
    if kind in _PAIN and "valueInteger" in observation:
        score = observation["valueInteger"]
        return say("client.work.felt"), say(f"client.work.pain.{kind.removeprefix('pain-')}", score=score)
    if kind == "hearing-change":
        said = say("client.work.hearing.said", what=told.words)
        return say("client.work.hearing"), _told(told, said, "client.work.end.noted")
    if kind == "procedure-event":
        return _event(observation)
    return NOTHING


def _event(observation: Json) -> Pair:
    concept = observation.get("valueCodeableConcept") or {}
    assertion = word("assertion", concept)
    about = next(iter(question(observation)), concept)
    if assertion == "absent":
        told = lay(about)
        return (
            (say("client.work.happened"), say("client.part.absent", what=told.words))
            if told.how == "named"
            else NOTHING
        )
    if own_code(concept) == "event-none":
        return say("client.work.happened"), say("client.work.happened.none")
    told = lay(about, sure=assertion != "suspected")
    key = {"suspected": "client.part.maybe", "past": "client.part.past"}.get(
        assertion or "", "client.work.happened.said"
    )
    said = _told(told, say(key, what=_as_bad(told.words, observation)), "client.part.noted")
    notes = " ".join(n["text"] for n in observation.get("note", ()) if n.get("text"))
    done = lay({"text": notes}) if notes else None
    if done and done.how == "noted":
        said += " " + say("client.work.happened.done", what=f"“{done.words}”")
    return say("client.work.happened"), said


def _as_bad(what: str, observation: Json) -> str:
    severities = (word("severity", c.get("valueCodeableConcept")) for c in parts(observation).get("severity", ()))
    bad = next((s for s in severities if s), None)
    return say("client.severity.said", what=what, how=say(f"client.severity.{bad}")) if bad else what


def product(resource: Json) -> Pair:
    """Drops that were used or given; nothing of what was used before, doubted or denied."""
    medication: Json = next(iter(resource.get("contained", ())), {})
    concept = medication.get("code") or resource.get("medicationCodeableConcept") or {}
    reasons = resource.get("statusReason", ())
    when = first_word("product-when", reasons if isinstance(reasons, list) else ())
    used = resource["resourceType"] == "MedicationAdministration" and resource.get("status") == "completed"
    how = "used" if used else when
    if how not in ("used", "supplied", "advised") or first_word("assertion", reasons):
        return NOTHING
    plain = lay(concept)
    what = plain.words if plain.how == "named" else f"“{plain.words}”" if plain.how == "noted" else ""
    return (say("client.work.product"), say(f"client.work.product.{how}", what=upper_first(what))) if what else NOTHING


def _told(told: Lay, named: str, noted: str) -> str:
    if told.how == "named":
        return sentence(named)
    return say(noted, what=told.words) if told.how == "noted" else say("client.part.look")
