"""Sentences for Observations: the same words wherever the same fact is told.

The four answers keep four wordings: looked normal, could not be seen (why), not examined (why); what was
not recorded has no Observation, so nothing here can say it.
"""

from __future__ import annotations

from bridge.fhir.own import first_word, kinds, own_code, word
from bridge.fhir.tell.words import amount, asserted, day, label, moment, words, words_inside
from bridge.shapes import Json

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
    "symptom": "told by the client",
    "hearing-change": "hearing afterwards, as the client reports it",
    "tolerance": "tolerance",
    "pain-before": "pain from 0 to 10",
    "pain-peak": "pain from 0 to 10",
    "pain-after": "pain from 0 to 10",
    "procedure-settings": "settings",
    "procedure-event": "event",
    "past-event": "known from before",
    "caution": "caution",
    "instrument-used": "instrument",
    "access-need": "access need",
    "hearing-aid-none": "hearing aid",
    "hearing-threshold": "hearing threshold",
    "tympanometry": "tympanometry",
    "whispered-voice": "whispered voice test",
    "hearing-note": "note on the hearing tests",
}
_PAIN = {"pain-before": "before the work ", "pain-peak": "worst during the work ", "pain-after": "after the work "}


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


def stage_of(observation: Json) -> str:
    """`before the work`, `after the work`, or empty."""
    return next((label(c.get("valueCodeableConcept")) for c in parts(observation).get("exam-stage", ())), "")


def what(observation: Json) -> str:
    """The fact alone, without ear, stage and remarks."""
    about, saying = subject(observation), _value_and_details(observation)
    return f"{about}: {saying}" if about and saying else about or saying


def subject(observation: Json) -> str:
    """What the fact is about: `eardrum`; empty for free text."""
    kind = kind_of(observation)
    if kind in _PLAIN:
        return ""
    if kind == "caution-note":
        return str(observation["code"].get("text", ""))
    return _SUBJECT.get(kind) or label(observation.get("code"))


def said(observation: Json) -> str:
    """What is said of the subject, with the remarks."""
    found = _value_and_details(observation)
    notes = "; ".join(n["text"].rstrip(".") for n in observation.get("note", ()) if n.get("text"))
    return f"{found} ({notes})" if found and notes else found or notes


def limits_sight(observation: Json) -> bool:
    """Whether it says that something could not be seen or was not examined."""
    if no_response(observation):
        return False
    if kind_of(observation) and _absent(observation) & {"unknown", "not-performed"}:
        return True
    seen = observation.get("valueCodeableConcept")
    return word("view", seen) == "none" or word("drum-view", seen) == "not seen"


def no_response(observation: Json) -> bool:
    """Whether a hearing threshold was tried for and the client did not respond."""
    return first_word("response", observation.get("interpretation", ())) == "none"


def _value_and_details(observation: Json) -> str:
    return ", ".join(p for p in (value(observation), *describe(observation)) if p)


def _absent(observation: Json) -> set[str]:
    return {str(c.get("code")) for c in observation.get("dataAbsentReason", {}).get("coding", ())}


def value(observation: Json) -> str:
    """The value in words, with what keeps a suspicion or a denial from reading like a finding."""
    components = parts(observation)
    reason = next((words_inside(c.get("valueCodeableConcept")) for c in components.get("absent-reason", ())), "")
    why = f" ({reason})" if reason else ""
    concept = observation.get("valueCodeableConcept")
    if concept:
        assertion = word("assertion", concept)
        if assertion:
            question = next(
                (c.get("valueCodeableConcept", {}) for c in components.get("finding-in-question", ())), concept
            )
            return asserted(assertion, question)
        if word("answer", concept) == "normal":
            return "looked normal"
        return words(concept) + why
    absent = _absent(observation)
    if "valueDateTime" in observation:
        return moment(str(observation["valueDateTime"]))
    if no_response(observation):
        return "no response"
    if members := len(observation.get("hasMember", ())):
        return f"{members} threshold{'' if members == 1 else 's'}"
    if "not-performed" in absent:
        return "not examined" + why
    if "unknown" in absent:
        return "could not be seen" + why
    if "valueInteger" in observation:
        return f"{_PAIN.get(kind_of(observation), '')}{observation['valueInteger']}"
    if "valueQuantity" in observation:
        return amount(observation["valueQuantity"])
    return str(observation.get("valueString", ""))


def describe(observation: Json) -> list[str]:
    """The components in words, in a fixed order."""
    found: list[str] = []
    components = parts(observation) if kind_of(observation) else {}
    for kind, form in _DETAILS:
        found += [form.format(_component(component)) for component in components.get(kind, ())]
    hours = [_component(c) for k in ("clock-from", "clock-to") for c in components.get(k, ())]
    if hours:
        found.append(f"{' to '.join(dict.fromkeys(hours))} o’clock")
    return found


_DETAILS = (
    ("occlusion", "{} of the canal’s width"),
    ("wax-consistency", "{}"),
    ("wax-colour", "{}"),
    ("wax-adherence", "{}"),
    ("finding-amount", "{}"),
    ("finding-percent", "{} narrowed or missing"),
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
    ("event-ended", "until {}"),
    ("symptom-developed", "came on over {}"),
    ("severity", "{}"),
    ("symptom-score", "{} on a scale of 0 to 10"),
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
    ("level-tried", "highest level tried {}"),
    ("frequency", "at {}"),
    ("conduction", "{}"),
    ("masking", "{}"),
    ("tympanogram-pressure", "peak pressure {}"),
    ("tympanogram-admittance", "peak admittance {}"),
    ("tympanogram-volume", "canal volume {}"),
    ("tympanogram-probe", "probe tone {}"),
    ("hearing-aid-use", "{}"),
)


def _component(component: Json) -> str:
    if "valueCodeableConcept" in component:
        return words(component["valueCodeableConcept"])
    if "valueQuantity" in component:
        return amount(component["valueQuantity"])
    if "valueDateTime" in component:
        return day(component["valueDateTime"])
    return str(component.get("valueInteger", component.get("valueString", "")))
