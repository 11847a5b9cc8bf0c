"""Bundles as another maker's system might write them, from a seed. Imports nothing of `bridge`.

Every statement has a word of its own, so that whoever reads the result can find it. Each is written in one of many
styles: how the side is told, in which state it is, whom it is about, what takes it back.
"""

from __future__ import annotations

import random
from typing import Any

Json = dict[str, Any]
SCT, LOINC = "http://snomed.info/sct", "http://loinc.org"
HL7 = "http://terminology.hl7.org/CodeSystem/"
BASE = "http://clinic.example.org/r4/"
SIDE = {"left": "7771000", "right": "24028007"}
EAR = {"left": "89644007", "right": "25577004"}
CANAL = {"left": "71471005", "right": "45124007"}
DRUM = {"left": "726562006", "right": "726563001"}
WORDS = ("pale spot", "dimple", "thick rim", "small bulge", "scaly patch", "streak")


def coded(code: str, system: str = SCT, **more: str) -> Json:
    return {"coding": [{"system": system, "code": code, **more}]}


def bundle(seed: int) -> Json:
    """Two clients, an encounter each (the first has two), and about twenty statements."""
    rng = random.Random(seed)
    entries: list[Json] = []

    def put(resource: Json) -> None:
        entries.append({"fullUrl": f"{BASE}{resource['resourceType']}/{resource['id']}", "resource": resource})

    for number, family in ((1, "Alder"), (2, "Birch")):
        numbers = [{"system": "http://clinic.example.org/chart", "value": f"C{number}"}]
        put({"resourceType": "Patient", "id": f"p{number}", "identifier": numbers, "name": [{"family": family}]})
    for number, day, client in ((1, "2026-05-01", 1), (2, "2026-06-01", 1), (3, "2026-05-01", 2)):
        put(encounter(number, day, client))
    for number in range(20):
        put(statement(rng, number))
    head = entries[:5]
    rest = entries[5:]
    rng.shuffle(rest)
    whole: Json = {"resourceType": "Bundle", "type": rng.choice(["collection", "searchset"]), "entry": head + rest}
    past = [e for e in rest if e["resource"]["resourceType"] == "Condition"]
    if past and rng.random() < 0.3:
        chosen = rng.sample(past, min(2, len(past)))
        whole["entry"].append(composition(rng, chosen))
    return whole


def encounter(number: int, day: str, client: int) -> Json:
    return {
        "resourceType": "Encounter",
        "id": f"e{number}",
        "status": "finished",
        "class": {"system": f"{HL7}v3-ActCode", "code": "AMB"},
        "identifier": [{"value": f"V{number}"}],
        "subject": {"reference": f"Patient/p{client}"},
        "period": {"start": f"{day}T09:00:00Z", "end": f"{day}T09:30:00Z"},
    }


def composition(rng: random.Random, entries: list[Json]) -> Json:
    section = {
        "code": coded(rng.choice(["10157-6", "11348-0"]), LOINC),
        "entry": [{"reference": e["fullUrl"]} for e in entries],
    }
    inner = {"title": "history", "section": [section]} if rng.random() < 0.5 else section
    resource = {"resourceType": "Composition", "id": "doc", "status": "final", "section": [inner]}
    return {"fullUrl": f"{BASE}Composition/doc", "resource": resource}


def statement(rng: random.Random, number: int) -> Json:
    kinds = ["Condition"] * 4 + ["Observation"] * 6 + ["Procedure"] * 2 + ["AllergyIntolerance", "MedicationStatement"]
    kind = rng.choice(kinds)
    word = f"{rng.choice(WORDS)} qq{number}zz"
    words = (
        word
        if rng.random() < 0.85
        else rng.choice(["no {}", "?{}", "{} excluded", "mother has {}", "previous {}"]).format(word)
    )
    about = "patient" if kind == "AllergyIntolerance" else "subject"
    resource: Json = {"resourceType": kind, "id": f"s{number}", about: subject(rng)}
    if rng.random() < 0.93:
        resource["encounter"] = {
            "reference": rng.choice(["Encounter/e1"] * 6 + ["Encounter/e2", "Encounter/e3", "Encounter/e9"])
        }
    if kind == "MedicationStatement" and "encounter" in resource:
        resource["context"] = resource.pop("encounter")
    write = {"Condition": condition, "Observation": observation, "Procedure": procedure}
    write |= {"AllergyIntolerance": allergy, "MedicationStatement": medicine}
    write[kind](rng, resource, words)
    if rng.random() < 0.08:
        place = rng.choice([resource, resource.get("code", resource)])
        place["modifierExtension"] = [{"url": "http://clinic.example.org/not", "valueBoolean": True}]
    if rng.random() < 0.03:
        resource["implicitRules"] = "http://clinic.example.org/rules"
    return resource


def subject(rng: random.Random) -> Json:
    return rng.choice(
        [{"reference": "Patient/p1"}] * 8
        + [
            {"reference": f"{BASE}Patient/p1"},
            {"identifier": {"system": "http://clinic.example.org/chart", "value": "C1"}, "type": "Patient"},
            {"reference": "Patient/p2"},
            {"reference": "Patient/p9"},
            {"reference": "http://other.example.org/r4/Patient/p1"},
            {"display": "Alder"},
        ]
    )


def site(rng: random.Random, part: dict[str, str] = EAR) -> Json | None:
    ear = rng.choice(["left", "right"])
    other = "right" if ear == "left" else "left"
    qualifier = "http://hl7.org/fhir/us/mcode/StructureDefinition/mcode-laterality-qualifier"
    generic = {"89644007": "117590005", "71471005": "84301002", "726562006": "42859004"}[part["left"]]

    def qualified(code: str, url: str = qualifier) -> Json:
        return {**coded(code), "extension": [{"url": url, "valueCodeableConcept": coded(SIDE[ear])}]}

    return rng.choice(
        [
            coded(part[ear]),
            coded(part[ear], display=f"{ear} ear"),
            {**coded(part[ear]), "text": f"{ear} ear"},
            {**coded(part[ear]), "text": f"{other} ear"},
            {"text": f"{ear} ear"},
            qualified(generic),
            qualified(generic, "http://clinic.example.org/ext/unknown-side"),
            qualified(part[other]),
            {"coding": [{"system": SCT, "code": generic}, {"system": SCT, "code": SIDE[ear]}]},
            {"coding": [{"system": SCT, "code": "81745001"}, {"system": SCT, "code": SIDE[ear]}]},
            {"coding": [{"system": SCT, "code": part["left"]}, {"system": SCT, "code": part["right"]}]},
            coded(generic),
            coded(part[ear], "http://clinic.example.org/sites"),
            None,
        ]
    )


def condition(rng: random.Random, resource: Json, words: str) -> None:
    resource["code"] = {"text": words}
    sites = [s for s in (site(rng), site(rng) if rng.random() < 0.1 else None) if s]
    if sites:
        resource["bodySite"] = sites
    verified = rng.choice(
        ["confirmed"] * 6
        + ["provisional", "differential", "unconfirmed", "refuted", "entered-in-error", "nonsense", ""]
    )
    state = rng.choice(["active"] * 6 + ["resolved", "inactive", "remission", ""])
    if verified:
        resource["verificationStatus"] = coded(verified, f"{HL7}condition-ver-status")
    if state:
        resource["clinicalStatus"] = coded(state, f"{HL7}condition-clinical")
    if rng.random() < 0.06:
        resource["abatementString"] = "spring"


def observation(rng: random.Random, resource: Json, words: str) -> None:
    part = rng.choice([CANAL, DRUM])
    resource["status"] = rng.choice(
        ["final"] * 8 + ["amended", "entered-in-error", "cancelled", "preliminary", "unknown"]
    )
    place = site(rng, part)
    if place:
        resource["bodySite"] = place
    style = rng.random()
    resource["code"] = {"text": words} if style < 0.3 else coded("8698-3", LOINC)
    if style < 0.3:
        value: Any = rng.choice([True, False, "52101004", "2667000", "text"])
        if isinstance(value, bool):
            resource["valueBoolean"] = value
        else:
            resource["valueCodeableConcept"] = {"text": "negative"} if value == "text" else coded(value)
    else:
        resource["valueCodeableConcept"] = {"text": words}
    if rng.random() < 0.05:
        resource["dataAbsentReason"] = {"text": "not done"}
    if rng.random() < 0.05:
        resource["interpretation"] = [coded("NEG", f"{HL7}v3-ObservationInterpretation")]
    if rng.random() < 0.05:
        resource["component"] = [{"code": {"text": "presence"}, "valueBoolean": False}]
    if rng.random() < 0.4:
        moments = ["2026-05-01T09:05:00Z", "2026-05-01T09:25:00Z", "2026-05-01", "2019-01-01", "2027-01-01"]
        resource["effectiveDateTime"] = rng.choice(moments)


def allergy(rng: random.Random, resource: Json, words: str) -> None:
    resource["code"] = {"text": words}
    state = rng.choice(["active"] * 4 + ["inactive", "resolved", ""])
    verified = rng.choice(["confirmed"] * 4 + ["unconfirmed", "refuted", "entered-in-error", ""])
    if state:
        resource["clinicalStatus"] = coded(state, f"{HL7}allergyintolerance-clinical")
    if verified:
        resource["verificationStatus"] = coded(verified, f"{HL7}allergyintolerance-verification")


def medicine(rng: random.Random, resource: Json, words: str) -> None:
    resource["status"] = rng.choice(
        ["active"] * 4 + ["completed", "stopped", "not-taken", "entered-in-error", "intended"]
    )
    if rng.random() < 0.5:
        resource["medicationCodeableConcept"] = {"text": words}
    else:
        inner = {"resourceType": "Medication", "id": "m", "code": {"text": words}}
        if rng.random() < 0.2:
            inner["status"] = "entered-in-error"
        resource.update({"contained": [inner], "medicationReference": {"reference": "#m"}})


def procedure(rng: random.Random, resource: Json, words: str) -> None:
    resource["status"] = rng.choice(["completed"] * 6 + ["stopped", "not-done", "entered-in-error", "preparation"])
    resource["code"] = {"text": words}
    place = site(rng)
    if place:
        resource["bodySite"] = [place]
    start = rng.choice(["2026-05-01T09:10:00Z", "2026-05-01", "2018", "2027-01-01"])
    if rng.random() < 0.6:
        resource["performedDateTime"] = start
