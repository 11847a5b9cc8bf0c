"""What was done, how it felt and how it ended, in plain words."""

from __future__ import annotations

from bridge.fhir.own import first_word, own_code, word
from bridge.fhir.plain.lay import Lay, lay, noted, quoted
from bridge.fhir.plain.seen import NOTHING, Pair, question
from bridge.fhir.strength import strength_words
from bridge.fhir.tell.clinical import nothing_done, outcome_fits
from bridge.fhir.tell.observation import kind_of, parts
from bridge.fhir.tell.words import label, sentence, upper_first
from bridge.fhir.tell.words import noted as local_words
from bridge.shapes import Json
from bridge.wording import language, say

_PAIN = ("pain-before", "pain-peak", "pain-after")


def procedure(resource: Json) -> list[Pair]:
    """How it was done and how it ended."""
    if nothing_done(resource):
        return [(say("copy.work.how"), say("copy.work.nothing"))]
    found = [(say("copy.work.how"), said)] if (said := _method(resource)) else []
    return [*found, (say("copy.work.end"), _end(resource))]


def _method(resource: Json) -> str:
    if resource.get("status") == "not-done":
        return ""
    concept = resource.get("code")
    key = f"copy.work.how.{own_code(concept)}"
    if key in language().words:
        return say(key)
    told = lay(concept)
    return _told(told, say("copy.work.how.said", what=told.words), "copy.work.how.noted")


def _end(resource: Json) -> str:
    outcome, status = resource.get("outcome"), str(resource.get("status", ""))
    told = lay(outcome)
    if not outcome or not outcome_fits(resource):
        end = say("copy.work.nothing") if not outcome and status == "not-done" else say("copy.work.end.unknown")
    else:
        end = _told(told, told.words, "copy.work.end.noted")
    why = lay(resource.get("statusReason")) if resource.get("statusReason") else None
    if why is None or why.how == "kept":
        return end
    return say("copy.work.end.why", end=end, why=why.words if why.how == "named" else quoted(why.words))


def beside(observation: Json) -> Pair:
    """What stands beside the work: how it felt, what happened, what the client says of the hearing."""
    kind, concept = kind_of(observation), observation.get("valueCodeableConcept")
    told = lay(concept)
    if kind == "tolerance":
        return say("copy.work.felt"), _told(told, told.words, "copy.work.end.noted")
    if kind in _PAIN and "valueInteger" in observation:
        score = observation["valueInteger"]
        return say("copy.work.felt"), say(f"copy.work.pain.{kind.removeprefix('pain-')}", score=score)
    if kind == "hearing-change":
        said = say("copy.work.hearing.said", what=told.words)
        return say("copy.work.hearing"), _told(told, said, "copy.work.end.noted")
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
            (say("copy.work.happened"), say("copy.work.happened.absent", what=told.words))
            if told.how == "named"
            else NOTHING
        )
    if own_code(concept) == "event-none":
        return say("copy.work.happened"), say("copy.work.happened.none")
    told = lay(about, sure=assertion != "suspected")
    key = {"suspected": "copy.part.maybe", "past": "copy.part.past"}.get(assertion or "", "copy.work.happened.said")
    said = _told(told, say(key, what=_as_bad(told.words, observation)), "copy.part.noted")
    notes = " ".join(n["text"] for n in observation.get("note", ()) if n.get("text"))
    done = lay({"text": notes}) if notes else None
    if done and done.how == "noted":
        said += " " + say("copy.work.happened.done", what=quoted(done.words))
    return say("copy.work.happened"), said


def _as_bad(what: str, observation: Json) -> str:
    severities = (word("severity", c.get("valueCodeableConcept")) for c in parts(observation).get("severity", ()))
    bad = next((s for s in severities if s), None)
    return say("copy.severity.said", what=what, how=say(f"copy.severity.{bad}")) if bad else what


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
    what = plain.words if plain.how == "named" else quoted(plain.words) if plain.how == "noted" else ""
    if not what:
        return NOTHING
    known = [_name(concept)] if plain.how == "named" and _name(concept).casefold() not in what.casefold() else []
    known += [s for s in (strength_words(i.get("strength", {})) for i in medication.get("ingredient", ())) if s]
    dosage = resource.get("dosage") if how != "used" else ()
    doses = (noted(str(d["text"])) for d in (dosage if isinstance(dosage, list) else ()) if d.get("text"))
    known += [quoted(dose.words) for dose in doses if dose.how == "noted"]
    what = say("copy.work.product.known", what=what, known=", ".join(known)) if known else what
    return say("copy.work.product"), say(f"copy.work.product.{how}", what=upper_first(what))


def _name(concept: Json) -> str:
    """What to ask for at a pharmacy: the words as noted, were they not mere letters, else the term's label."""
    local = local_words(concept)
    return local if len(local) > _LETTERS else label(concept)


_LETTERS = 4


def _told(told: Lay, named: str, noted: str) -> str:
    if told.how == "named":
        return sentence(named)
    return say(noted, what=told.words) if told.how == "noted" else say("copy.part.look")
