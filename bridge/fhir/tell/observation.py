"""Sentences for Observations: the same words wherever the same fact is told.

The four answers keep four wordings: looked normal, could not be seen (why), not examined (why); what was
not recorded has no Observation, so nothing here can say it.
"""

from __future__ import annotations

from typing import Any

from bridge.fhir.own import kinds, own_code, word
from bridge.fhir.tell.words import amount, day, label, upper_first, words

Json = dict[str, Any]

_PLAIN = ("examination-note", "ear-note", "visit-note")
_SUBJECT = {
    "wax-state": "wax",
    "contents-state": "other contents of the canal",
    "canal-state": "ear canal",
    "drum-view": "eardrum",
    "drum-state": "eardrum",
    "outer-ear-state": "outer ear",
    "cavity-state": "mastoid cavity",
    "contents-finding": "in the canal",
    "canal-finding": "ear canal",
    "drum-finding": "eardrum",
    "outer-ear-finding": "outer ear",
    "cavity-finding": "mastoid cavity",
    "examination-view": "the ear",
}


def kind_of(observation: Json) -> str:
    """Our own kind of an Observation, or an empty string for a foreign one."""
    code = own_code(observation.get("code"))
    return code if code in kinds() else ""


def parts(observation: Json) -> dict[str, list[Json]]:
    """Its components by our own kind."""
    found: dict[str, list[Json]] = {}
    for component in observation.get("component", ()):
        found.setdefault(own_code(component.get("code")) or "", []).append(component)
    return found


def tell_observation(observation: Json) -> str:
    """`Right ear, before the work: wax: impacted, 100% of the width, hard.`"""
    stage = next((label(c["valueCodeableConcept"]) for c in parts(observation).get("exam-stage", ())), "")
    site = observation.get("bodySite", {})
    ear = next((e for e in ("right", "left") if str(site.get("text", "")).startswith(e)), "")
    where = ", ".join(p for p in (f"{ear} ear" if ear else "", stage) if p)
    said = what(observation)
    note = "; ".join(n["text"] for n in observation.get("note", ()))
    sentence = f"{where}: {said}" if where else said
    return upper_first(f"{sentence} ({note})" if note else sentence) + ("" if sentence.endswith(".") else ".")


def what(observation: Json) -> str:
    """The fact itself without ear and stage."""
    kind = kind_of(observation)
    if not kind:
        return f"{label(observation.get('code'))}: {value(observation)}"
    if kind in _PLAIN:
        return str(observation.get("valueString", ""))
    subject = _SUBJECT.get(kind) or label(observation["code"]).lower()
    details = describe(observation)
    return f"{subject}: " + ", ".join(p for p in (value(observation), *details) if p)


def value(observation: Json) -> str:
    """The value in words, with what keeps a suspicion or a denial from reading like a finding."""
    components = parts(observation)
    reason = next((words(c["valueCodeableConcept"]) for c in components.get("absent-reason", ())), "")
    why = f" ({reason})" if reason else ""
    concept = observation.get("valueCodeableConcept")
    if concept:
        asserted = word("assertion", concept)
        if asserted:
            question = next((c["valueCodeableConcept"] for c in components.get("finding-in-question", ())), concept)
            return _asserted(asserted, question)
        if word("answer", concept) == "normal":
            return "looked normal"
        return words(concept) + why
    absent = {c.get("code") for c in observation.get("dataAbsentReason", {}).get("coding", ())}
    if "not-performed" in absent:
        return "not examined" + why
    if "unknown" in absent:
        return "could not be seen" + why
    if "valueInteger" in observation:
        return str(observation["valueInteger"])
    if "valueQuantity" in observation:
        return amount(observation["valueQuantity"])
    return str(observation.get("valueString", ""))


def _asserted(asserted: str, question: Json) -> str:
    clean, local = label(question), str(question.get("text", ""))
    noted = f" (noted as “{local}”)" if local and local.casefold() != clean.casefold() else ""
    if asserted == "suspected":
        return f"{clean} suspected, not confirmed{noted}"
    if asserted == "absent":
        return f"no {clean}{noted}"
    return f"{clean} in the past{noted}"


def describe(observation: Json) -> list[str]:
    """The components in words, in a fixed order."""
    found: list[str] = []
    components = parts(observation)
    for kind, form in _DETAILS:
        for component in components.get(kind, ()):
            found.append(form.format(_component(component)))
    clock = [str(c["valueInteger"]) for k in ("clock-from", "clock-to") for c in components.get(k, ())]
    if clock:
        found.append(f"{' to '.join(clock)} o’clock")
    return found


_DETAILS = (
    ("occlusion", "{} of the canal’s width"),
    ("wax-consistency", "{}"),
    ("wax-colour", "{}"),
    ("wax-adherence", "{}"),
    ("finding-amount", "{}"),
    ("finding-percent", "{}"),
    ("finding-width", "{} wide"),
    ("moisture", "{}"),
    ("finding-how", "{}"),
    ("canal-third", "{}"),
    ("depth", "{} deep"),
    ("wall", "{}"),
    ("drum-part", "{}"),
    ("viewing-device", "by {}"),
    ("speculum-size", "speculum {}"),
    ("symptom-onset", "since {}"),
    ("symptom-developed", "came on over {}"),
    ("severity", "{}"),
    ("symptom-score", "{} of 10"),
    ("instrument-size", "size {}"),
    ("instrument-lot", "lot {}"),
    ("attempts", "attempts: {}"),
    ("duration", "duration {}"),
    ("suction-pressure", "suction {}"),
    ("suction-taken", "{}"),
    ("suction-time", "suction on for {}"),
    ("water-temperature", "water {}"),
    ("water-pressure", "water pressure {}"),
    ("water-volume", "water volume {}"),
    ("irrigation-tip", "tip {}"),
)


def _component(component: Json) -> str:
    if "valueCodeableConcept" in component:
        return words(component["valueCodeableConcept"])
    if "valueQuantity" in component:
        return amount(component["valueQuantity"])
    if "valueDateTime" in component:
        return day(component["valueDateTime"])
    return str(component.get("valueInteger", component.get("valueString", "")))
