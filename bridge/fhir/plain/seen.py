"""What was seen in an ear, in plain words: never surer than the record, and no answer taken for another."""

from __future__ import annotations

from bridge.fhir.own import word
from bridge.fhir.plain.lay import Lay, lay, quoted
from bridge.fhir.tell.observation import kind_of, parts
from bridge.fhir.tell.words import amount, label, listed, upper_first
from bridge.shapes import Json
from bridge.wording import say

Pair = tuple[str, str]
NOTHING: Pair = ("", "")
_PARTS = {
    "contents-state": "contents", "contents-finding": "contents", "canal-state": "canal", "canal-finding": "canal",
    "drum-state": "drum", "drum-finding": "drum", "drum-view": "drum", "outer-ear-state": "outer-ear",
    "outer-ear-finding": "outer-ear", "cavity-state": "cavity", "cavity-finding": "cavity",
}  # fmt: skip


def seen(observation: Json) -> Pair:
    """What it is about, and a sentence; nothing for what is no fact of an examination, or is in other words already."""
    kind = kind_of(observation)
    if kind == "examination-view":
        return say("copy.view"), _view(observation)
    if kind == "wax-state":
        return say("copy.part.wax"), _wax(observation)
    if kind == "drum-view":
        partly = word("drum-view", observation.get("valueCodeableConcept")) == "partly"
        return (say("copy.part.drum"), say("copy.part.partly")) if partly else NOTHING
    if kind in _PARTS:
        said = finding(observation)
        return (say(f"copy.part.{_PARTS[kind]}"), said) if said else NOTHING
    return NOTHING


def finding(observation: Json) -> str:
    """A finding as sure as it is; empty where nothing is to be told."""
    concept = observation.get("valueCodeableConcept")
    if not concept:
        return _not_seen(observation, "part")
    assertion = word("assertion", concept)
    if assertion:
        return _asserted(assertion, next(iter(question(observation)), concept))
    if word("answer", concept) == "normal":
        return say("copy.part.normal")
    return _told(lay(concept), "copy.part.named")


def question(observation: Json) -> list[Json]:
    """The term that is suspected, denied or past."""
    return [c.get("valueCodeableConcept", {}) for c in parts(observation).get("finding-in-question", ())]


def _asserted(assertion: str, concept: Json) -> str:
    if assertion == "absent":
        told = lay(concept)
        return say("copy.part.absent", what=told.words) if told.how == "named" else ""
    if assertion == "suspected":
        return _told(lay(concept, sure=False), "copy.part.maybe")
    return _told(lay(concept), "copy.part.past" if assertion == "past" else "copy.part.named")


def _told(told: Lay, key: str) -> str:
    if told.how == "named":
        return upper_first(say(key, what=told.words))
    return say("copy.part.noted", what=told.words) if told.how == "noted" else say("copy.part.look")


def _view(observation: Json) -> str:
    achieved = word("view", observation.get("valueCodeableConcept"))
    if achieved is None:
        return _not_seen(observation, "view")
    return _because(f"view.{achieved}", observation)


def _not_seen(observation: Json, what: str) -> str:
    absent = {str(c.get("code")) for c in observation.get("dataAbsentReason", {}).get("coding", ())}
    if "not-performed" in absent:
        return _because(f"{what}.not-examined", observation)
    if "unknown" in absent:
        return _because("view.none" if what == "view" else "part.not-seen", observation)
    return ""


def _because(key: str, observation: Json) -> str:
    reasons = (c.get("valueCodeableConcept") for c in parts(observation).get("absent-reason", ()))
    told = next((lay(reason) for reason in reasons), None)
    if told is None or told.how == "kept" or key == "view.full":
        return say(f"copy.{key}")
    return say(f"copy.{key}.why", why=told.words if told.how == "named" else quoted(told.words))


def _wax(observation: Json) -> str:
    absent = _not_seen(observation, "part")
    if absent:
        return absent
    found = parts(observation)
    said = []
    concept = observation.get("valueCodeableConcept")
    if concept:
        told = lay(concept)
        said.append(
            say("copy.wax.amount", what=upper_first(told.words))
            if told.how == "named"
            else _told(told, "copy.part.named")
        )
    filled = next((c["valueQuantity"] for c in found.get("occlusion", ()) if "valueQuantity" in c), None)
    said += [say("copy.wax.percent", percent=amount(filled))] if filled and filled.get("value") else []
    like = [
        plain.words if plain.how == "named" else label(concept) if plain.how == "noted" else ""
        for kind in ("wax-consistency", "wax-colour", "wax-adherence")
        for concept in (c.get("valueCodeableConcept") for c in found.get(kind, ()))
        if (plain := lay(concept))
    ]
    described = [*dict.fromkeys(filter(None, like))]
    said += [say("copy.wax.like", what=listed(described))] if described else []
    return " ".join(said)
