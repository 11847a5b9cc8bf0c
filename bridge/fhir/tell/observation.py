"""Sentences for Observations: the same words wherever the same fact is told.

The four answers keep four wordings: looked normal, could not be seen (why), not examined (why); what was
not recorded has no Observation, so nothing here can say it.
"""

from __future__ import annotations

from bridge.fhir.own import first_word, kinds, own_code, word
from bridge.fhir.tell.words import amount, asserted, day, label, moment, words, words_inside
from bridge.shapes import Json
from bridge.wording import say, say_number

_PLAIN = ("examination-note", "ear-note", "visit-note")
_SUBJECT = {
    "wax-state": "subject.wax",
    "contents-state": "subject.contents",
    "canal-state": "subject.canal",
    "drum-view": "subject.drum",
    "drum-state": "subject.drum",
    "outer-ear-state": "subject.outer-ear",
    "cavity-state": "subject.cavity",
    "contents-finding": "subject.in-canal",
    "canal-finding": "subject.canal",
    "drum-finding": "subject.drum",
    "outer-ear-finding": "subject.outer-ear",
    "cavity-finding": "subject.cavity",
    "examination-view": "subject.ear",
    "symptom": "subject.symptom",
    "hearing-change": "subject.hearing-change",
    "tolerance": "subject.tolerance",
    "pain-before": "subject.pain",
    "pain-peak": "subject.pain",
    "pain-after": "subject.pain",
    "procedure-settings": "subject.settings",
    "procedure-event": "subject.event",
    "past-event": "subject.past-event",
    "caution": "subject.caution",
    "instrument-used": "subject.instrument",
    "access-need": "subject.access-need",
    "hearing-aid-none": "subject.hearing-aid",
    "hearing-threshold": "subject.hearing-threshold",
    "tympanometry": "subject.tympanometry",
    "whispered-voice": "subject.whispered-voice",
    "hearing-note": "subject.hearing-note",
}
"""Keys of the catalogue by kind."""
_PAIN = ("pain-before", "pain-peak", "pain-after")


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
    return say(_SUBJECT[kind]) if kind in _SUBJECT else label(observation.get("code"))


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
            return say("told.normal")
        return words(concept) + why
    absent = _absent(observation)
    if "valueDateTime" in observation:
        return moment(str(observation["valueDateTime"]))
    if no_response(observation):
        return say("told.no-response")
    if members := len(observation.get("hasMember", ())):
        return say_number("told.thresholds", members)
    if "not-performed" in absent:
        return say("told.not-examined") + why
    if "unknown" in absent:
        return say("told.not-seen") + why
    if "valueInteger" in observation:
        kind, level = kind_of(observation), str(observation["valueInteger"])
        return say(f"told.level.{kind}", level=level) if kind in _PAIN else level
    if "valueQuantity" in observation:
        return amount(observation["valueQuantity"])
    return str(observation.get("valueString", ""))


def describe(observation: Json) -> list[str]:
    """The components in words, in a fixed order."""
    found: list[str] = []
    components = parts(observation) if kind_of(observation) else {}
    for kind in _DETAILS:
        for component in components.get(kind, ()):
            told = _component(component)
            key = f"detail.{kind}.{_stem(observation)}" if kind == "finding-percent" else f"detail.{kind}"
            found.append(say(key, value=told) if kind in _FRAMED else told)
    hours = list(dict.fromkeys(_component(c) for k in ("clock-from", "clock-to") for c in components.get(k, ())))
    if hours:
        found.append(say("told.clock" if len(hours) == 1 else "told.clock.from-to", first=hours[0], last=hours[-1]))
    return found


def _stem(observation: Json) -> str:
    """The part of the ear that a finding is of: a share of the canal is narrowed, a share of the drum is missing."""
    stem = kind_of(observation).rpartition("-")[0]
    return stem if stem in ("canal", "contents", "drum", "outer-ear") else "other"


_DETAILS = (
    "occlusion",
    "wax-consistency",
    "wax-colour",
    "wax-adherence",
    "finding-amount",
    "finding-percent",
    "finding-width",
    "moisture",
    "finding-how",
    "canal-third",
    "depth",
    "wall",
    "drum-part",
    "viewing-device",
    "speculum-size",
    "symptom-onset",
    "event-ended",
    "symptom-developed",
    "severity",
    "symptom-score",
    "instrument-size",
    "instrument-lot",
    "attempts",
    "duration",
    "suction-pressure",
    "suction-taken",
    "suction-time",
    "water-temperature",
    "water-pressure",
    "water-volume",
    "irrigation-tip",
    "level-tried",
    "frequency",
    "conduction",
    "masking",
    "tympanogram-pressure",
    "tympanogram-admittance",
    "tympanogram-volume",
    "tympanogram-probe",
    "hearing-aid-use",
)
"""Kinds of components in the order in which they are told."""
_FRAMED = frozenset(
    {
        "occlusion",
        "finding-percent",
        "finding-width",
        "depth",
        "viewing-device",
        "speculum-size",
        "symptom-onset",
        "event-ended",
        "symptom-developed",
        "symptom-score",
        "instrument-size",
        "instrument-lot",
        "attempts",
        "duration",
        "suction-pressure",
        "suction-time",
        "water-temperature",
        "water-pressure",
        "water-volume",
        "irrigation-tip",
        "level-tried",
        "frequency",
        "tympanogram-pressure",
        "tympanogram-admittance",
        "tympanogram-volume",
        "tympanogram-probe",
    }
)
"""Those whose value has words around it, in the catalogue; the others are told by their value alone."""


def _component(component: Json) -> str:
    if "valueCodeableConcept" in component:
        return words(component["valueCodeableConcept"])
    if "valueQuantity" in component:
        return amount(component["valueQuantity"])
    if "valueDateTime" in component:
        return day(component["valueDateTime"])
    return str(component.get("valueInteger", component.get("valueString", "")))
