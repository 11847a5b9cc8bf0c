"""What a bundle states, read from its JSON with this module's own eyes: facts with ear, stage, part and words.

Rules it goes by are those of FHIR R4 and of the four answers: a value is a finding, `answer-normal` is normal,
dataAbsentReason unknown is not seen, not-performed is not examined, and what has no Observation is not recorded.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any

OWN = "urn:oid:2.25.315634712590341250083437118789586142799"
EAR_OF = {"25577004": "right", "89644007": "left"}
"""SNOMED CT right and left ear structure."""
STEMS = ("view", "wax", "contents", "canal", "drum", "outer-ear", "cavity")
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip
TIMES = {"h": "hour", "d": "day", "wk": "week", "mo": "month", "a": "year", "[drp]": "drop"}
Json = dict[str, Any]


def codes(concept: Any, system: str = OWN) -> set[str]:
    return {c.get("code", "") for c in (concept or {}).get("coding", ()) if c.get("system") == system}


def code(concept: Any) -> str:
    return next(iter(sorted(codes(concept))), "")


def label(concept: Any) -> str:
    """The words of the own code, else those of the record, else those of a published code."""
    coding = (concept or {}).get("coding", ())
    own = next((c["display"] for c in coding if c.get("system") == OWN and c.get("display")), "")
    return own or (concept or {}).get("text") or next((c["display"] for c in coding if c.get("display")), "")


def local(concept: Any) -> str:
    """The record's own words where the label does not hold them word for word or as the beginning of a word."""
    text, held = (concept or {}).get("text", ""), label(concept).casefold().replace("-", " ").split()
    said = text.casefold().replace("-", " ").split()
    return "" if all(any(h == w or (len(w) > 2 and h.startswith(w)) for h in held) for w in said) else text


def day(when: str) -> str:
    parts = when[:10].split("-")
    if len(parts) == 1:
        return parts[0]
    month = MONTHS[int(parts[1]) - 1]
    return f"{int(parts[2])} {month} {parts[0]}" if len(parts) == 3 else f"{month} {parts[0]}"


def amount(quantity: Json) -> str:
    value, unit = str(quantity.get("value", "")), quantity.get("unit") or quantity.get("code") or ""
    if unit in ("", "1"):
        return value
    known = TIMES.get(str(quantity.get("code", ""))) or TIMES.get(unit)
    if known:
        return f"{value} {known}{'' if value == '1' else 's'}"
    return f"{value}%" if unit == "%" else f"{value} {unit}"


def value_of(holder: Json) -> str:
    """The words of value[x]."""
    if "valueCodeableConcept" in holder:
        return label(holder["valueCodeableConcept"])
    if "valueQuantity" in holder:
        return amount(holder["valueQuantity"])
    if "valueDateTime" in holder:
        return day(holder["valueDateTime"])
    for name in ("valueInteger", "valueString"):
        if name in holder:
            return str(holder[name])
    return ""


FRAMES = {
    "occlusion": "{} of the canal’s width", "finding-width": "{} wide",
    "depth": "{} deep", "viewing-device": "by {}", "speculum-size": "speculum {}", "symptom-onset": "since {}",
    "event-ended": "until {}", "symptom-developed": "came on over {}", "symptom-score": "{} on a scale of 0 to 10",
    "instrument-size": "size {}", "instrument-lot": "lot {}", "attempts": "attempts: {}", "duration": "duration {}",
    "suction-pressure": "suction {}", "suction-time": "suction on for {}", "water-temperature": "water {}",
    "water-pressure": "water pressure {}", "water-volume": "water volume {}", "irrigation-tip": "tip {}",
    "level-tried": "highest level tried {}", "frequency": "at {}", "tympanogram-pressure": "peak pressure {}",
    "tympanogram-admittance": "peak admittance {}", "tympanogram-volume": "canal volume {}",
    "tympanogram-probe": "probe tone {}",
}  # fmt: skip
"""What stands around the value of a component."""
NARROWED = "{} of the width narrowed"
SHARES = {"canal": NARROWED, "contents": NARROWED, "outer-ear": NARROWED, "drum": "{} of the pars tensa missing"}
"""Of what a percentage is, by the part of the ear."""
HOURS = ("clock-from", "clock-to")
UNSPOKEN = ("exam-stage", "finding-in-question", "absent-reason", *HOURS)


@dataclass
class Fact:
    """One resource."""

    resource: Json
    type: str
    ear: str
    """Empty for what is about no ear or both."""
    stage: str
    kind: str
    stem: str
    answer: str
    """normal, not-seen, not-examined, or empty."""
    doubt: str
    """suspected, absent, past, unread, or empty."""
    label: str
    reason: str
    details: list[str] = field(default_factory=list)
    """Phrases that must be said beside it."""
    words: list[str] = field(default_factory=list)
    """The record's own words, which must be said beside it where they differ."""
    texts: list[str] = field(default_factory=list)
    """The record's own words wherever they may be quoted."""
    displays: list[str] = field(default_factory=list)
    """Displays of all codes."""
    coded: str = ""
    """The words of the code, without the record's own: what a drawing is made of."""

    @property
    def limited(self) -> bool:
        return self.answer in ("not-seen", "not-examined")

    def phrases(self) -> tuple[str, ...]:
        """How it may be said; one of them must be."""
        if self.answer:
            return (
                {"normal": "looked normal", "not-seen": "could not be seen", "not-examined": "not examined"}[
                    self.answer
                ],
            )
        return said_with(self.doubt, self.label)


def said_with(doubt: str, words: str) -> tuple[str, ...]:
    return {
        "": (words,),
        "suspected": (f"{words} suspected, not confirmed", f"“{words}” (suspected, not confirmed)"),
        "absent": (f"no {words}", f"“{words}” (that is, not present)"),
        "past": (f"{words} in the past", f"“{words}” (in the past)"),
        "unread": (f"“{words}” (the practitioner’s own words)",),
    }[doubt]


def ear_of(resource: Json) -> str:
    """By the body site, the site of a dosage, a Flag's category, a Task's input."""
    sites = resource.get("bodySite") or []
    found = list(sites if isinstance(sites, list) else [sites])
    dosage = resource.get("dosage") or []
    found += [d["site"] for d in (dosage if isinstance(dosage, list) else [dosage]) if "site" in d]
    if resource["resourceType"] == "Flag":
        found += resource.get("category", [])
    found += [i["valueCodeableConcept"] for i in resource.get("input", ()) if "valueCodeableConcept" in i]
    ears = {EAR_OF[c["code"]] for site in found for c in site.get("coding", ()) if c.get("code") in EAR_OF}
    ears |= {
        c["code"][4:] for site in found for c in site.get("coding", ()) if c.get("code") in ("ear-right", "ear-left")
    }
    return ears.pop() if len(ears) == 1 else ""


def _observation(resource: Json) -> Fact:
    kind = code(resource.get("code"))
    parts: dict[str, list[Json]] = {}
    for component in resource.get("component", ()):
        parts.setdefault(code(component.get("code")), []).append(component)
    stage = next((code(c.get("valueCodeableConcept"))[6:] for c in parts.get("exam-stage", ())), "")
    value = resource.get("valueCodeableConcept")
    absent = {c.get("code") for c in resource.get("dataAbsentReason", {}).get("coding", ())}
    answer = "normal" if "answer-normal" in codes(value) else ""
    answer = "not-seen" if {"view-none", "drum-view-none"} & codes(value) else answer
    no_response = any("threshold-no-response" in codes(i) for i in resource.get("interpretation", ()))
    if not no_response:
        answer = "not-seen" if "unknown" in absent else "not-examined" if "not-performed" in absent else answer
    doubt = next((c[10:] for c in codes(value) if c.startswith("assertion-")), "")
    asked = next((c["valueCodeableConcept"] for c in parts.get("finding-in-question", ())), value) if doubt else value
    why = next((c["valueCodeableConcept"] for c in parts.get("absent-reason", ())), None)
    stem = "view" if kind == "examination-view" else kind.rpartition("-")[0]
    stem = "note" if kind == "examination-note" else stem if stem in STEMS else ""
    fact = Fact(
        resource, "Observation", ear_of(resource), stage, kind, stem, answer, doubt,
        label(asked) if asked else value_of(resource), label(why),
    )  # fmt: skip
    fact.words += [w for w in (local(asked) if not answer else "", local(why)) if w]
    held = [asked, why, *(c.get("valueCodeableConcept") for c in resource.get("component", ()))]
    fact.texts = [str(c["text"]) for c in held if c and c.get("text")]
    fact.displays = [c["display"] for h in held if h for c in h.get("coding", ()) if c.get("display")]
    coded = label({"coding": (asked or {}).get("coding", ())})
    fact.coded = coded
    for name, found in parts.items():
        for component in found:
            if name in UNSPOKEN:
                continue
            said = value_of(component)
            frame = (
                SHARES.get(fact.stem, "{} narrowed or missing") if name == "finding-percent" else FRAMES.get(name, "{}")
            )
            fact.details.append(frame.format(said))
            fact.words += [w for w in [local(component.get("valueCodeableConcept"))] if w]
    fact.words += [n["text"] for n in resource.get("note", ()) if n.get("text")]
    return fact


CONCEPTS = {
    "Procedure": ("code", "outcome", "statusReason", "reasonCode", "usedCode", "complication"),
    "Condition": ("code",),
    "MedicationStatement": ("medicationCodeableConcept",),
    "MedicationAdministration": ("medicationCodeableConcept",),
    "AllergyIntolerance": ("code",),
    "Flag": ("code",),
    "Communication": ("topic", "medium"),
    "ServiceRequest": ("code", "reasonCode"),
    "Task": ("code", "reasonCode"),
    "Media": ("view",),
}
"""Elements whose words a reader must meet, by type."""


def _other(resource: Json) -> Fact:
    kind = resource["resourceType"]
    fact = Fact(resource, kind, ear_of(resource), "", "", "", "", "", "", "")
    for name in CONCEPTS.get(kind, ()):
        held = resource.get(name) or []
        for concept in held if isinstance(held, list) else [held]:
            if kind == "Task" and name == "code" and resource.get("description"):
                continue
            said = concept.get("text", "") if name == "medium" else label(concept)
            fact.details += [said] if said else []
            fact.texts += [concept["text"]] if concept.get("text") else []
            if name == "medium":
                continue
            fact.words += [w for w in [local(concept)] if w]
    for contained in resource.get("contained", ()):
        if contained["resourceType"] == "Medication":
            fact.details += [label(contained.get("code"))]
            fact.texts += [contained["code"]["text"]] if "text" in contained.get("code", {}) else []
            fact.words += [w for w in [local(contained.get("code"))] if w]
            batch = contained.get("batch", {})
            fact.words += [str(w) for i in contained.get("ingredient", ()) for w in _strength(i.get("strength", {}))]
            fact.words += [batch["lotNumber"]] if "lotNumber" in batch else []
    fact.words += [n["text"] for n in resource.get("note", ()) if n.get("text")]
    fact.words += [resource[k] for k in ("description", "patientInstruction") if isinstance(resource.get(k), str)]
    fact.words += [resource["device"]["display"]] if resource.get("device", {}).get("display") else []
    for reaction in resource.get("reaction", ()):
        fact.words += [label(m) for m in reaction.get("manifestation", ())]
    for activity in resource.get("activity", ()):
        detail = activity.get("detail", {})
        fact.words += [detail["description"]] if detail.get("description") else []
        fact.words += [r["text"] for r in detail.get("reasonCode", ()) if r.get("text")]
    dosage = resource.get("dosage") or []
    fact.words += [d["text"] for d in (dosage if isinstance(dosage, list) else [dosage]) if d.get("text")]
    fact.doubt = _doubt(resource)
    fact.label = fact.details[0] if fact.details else ""
    return fact


def _strength(ratio: Json) -> list[str]:
    """A strength in the record's own words, which stand as the unit of its numerator; a number before it as well."""
    unit = str(ratio.get("numerator", {}).get("unit", ""))
    value = ratio.get("numerator", {}).get("value")
    return [unit if value is None else f"{value}{unit}" if unit == "%" else f"{value} {unit}"] if unit else []


def _doubt(resource: Json) -> str:
    verified = {c.get("code") for c in (resource.get("verificationStatus") or {}).get("coding", ())}
    clinical = {c.get("code") for c in (resource.get("clinicalStatus") or {}).get("coding", ())}
    kind = resource["resourceType"]
    if kind in ("MedicationStatement", "MedicationAdministration"):
        found = (c[10:] for r in resource.get("statusReason", ()) for c in codes(r) if c.startswith("assertion-"))
        return next(found, "")
    if "refuted" in verified:
        return "absent"
    if kind == "Condition" and verified & {"provisional", "differential"}:
        return "suspected"
    if (
        kind == "Condition"
        and "unconfirmed" in verified
        and (resource.get("code", {}).get("coding") or _history(resource))
    ):
        return "suspected"
    bare = kind == "Condition" and not resource.get("code", {}).get("coding")
    if bare and ("unconfirmed" in verified or (_history(resource) and not verified)):
        return "unread"
    if kind == "AllergyIntolerance" and "assertion-suspected" in codes(resource.get("verificationStatus")):
        return "suspected"
    if kind == "Condition" and "inactive" in clinical and not _history(resource):
        return "past"
    return ""


def _history(resource: Json) -> bool:
    held = resource.get("category") or []
    return any(code(c).startswith("event-from-before") for c in (held if isinstance(held, list) else [held]))


class Evidence:
    """All facts of a bundle."""

    def __init__(self, bundle: Json) -> None:
        self.bundle = bundle
        entries = [e["resource"] for e in bundle["entry"]]
        self.facts = [_observation(r) if r["resourceType"] == "Observation" else _other(r) for r in entries]
        self.by_url = {e["fullUrl"]: f for e, f in zip(bundle["entry"], self.facts, strict=True)}

    def of(self, type: str, ear: str | None = None) -> list[Fact]:
        return [f for f in self.facts if f.type == type and ear in (None, f.ear)]

    def looked(self, ear: str, stage: str) -> list[Fact]:
        """What an examination of an ear says; hearing tests have a stage too."""
        exam = [f for f in self.of("Observation", ear) if f.stage == stage]
        return [f for f in exam if f.stem]

    def work(self, ear: str) -> list[Fact]:
        return [f for f in self.of("Procedure", ear) if not _history(f.resource)]

    def beside(self, work: Fact) -> list[Fact]:
        url = next(u for u, f in self.by_url.items() if f is work)
        return [f for f in self.facts if any(p.get("reference") == url for p in f.resource.get("partOf", ()))]

    def strings(self) -> set[str]:
        """Every text of the bundle that a reader may meet."""
        found: set[str] = set()

        def walk(value: Any, key: str) -> None:
            if isinstance(value, dict):
                for name, held in value.items():
                    if name not in ("div", "system", "reference", "fullUrl", "profile", "id"):
                        walk(held, name)
            elif isinstance(value, list):
                for held in value:
                    walk(held, key)
            elif not isinstance(value, bool):
                found.add(str(value))

        walk(self.bundle, "")
        for section in self.bundle["entry"][0]["resource"].get("section", ()):
            if "entry" not in section and "emptyReason" not in section:  # its text is all that it says
                found.add(re.sub("<[^>]*>", " ", section.get("text", {}).get("div", "")))
        return found


def words(text: str) -> list[str]:
    return [w.casefold() for w in re.findall(r"[^\W\d_]+", text)]
