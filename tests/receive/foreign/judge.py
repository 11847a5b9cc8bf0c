"""What a bundle of `strangers` may become, by the raw input alone. Imports nothing of `bridge`."""

from __future__ import annotations

import re
from typing import Any

from tests.receive.foreign.law import walk
from tests.receive.foreign.strangers import BASE, CANAL, DRUM, EAR, SIDE

Json = dict[str, Any]
TOKEN = re.compile(r"qq\d+zz")
SIDED = {code: ear for table in (EAR, CANAL, DRUM, SIDE) for ear, code in table.items()}
KNOWN_QUALIFIER = "http://hl7.org/fhir/us/mcode/StructureDefinition/mcode-laterality-qualifier"
OF_AN_EAR = {"117590005", "84301002", "42859004", *EAR.values(), *CANAL.values(), *DRUM.values()}
DENYING = re.compile(r"^no |^\?|excluded|mother|previous")


def ears(resource: Json) -> set[str]:
    """The ears that the structure of the body sites names; none where anything in them names another one."""
    sites = resource.get("bodySite", [])
    found: set[str] = set()
    for site in sites if isinstance(sites, list) else [sites]:
        codings = list(site.get("coding", []))
        for extension in site.get("extension", []):
            if extension["url"] == KNOWN_QUALIFIER:
                codings += extension["valueCodeableConcept"]["coding"]
        said = {SIDED[c["code"]] for c in codings if c["code"] in SIDED and c["system"] == "http://snomed.info/sct"}
        anywhere = {SIDED[v] for _, v in walk(site) if v in SIDED and "clinic.example.org/sites" not in str(site)}
        words = {ear for ear in SIDE for _, v in walk(site) if re.search(rf"\b{ear} ear\b", str(v))}
        place = any(c["code"] in OF_AN_EAR for c in codings)
        if len(said) != 1 or anywhere != said or words - said or not place:
            return set()
        found |= said
    return found


def client(resource: Json) -> str:
    told = resource.get("subject") or resource["patient"]
    if told.get("reference") in ("Patient/p1", f"{BASE}Patient/p1") or told.get("identifier", {}).get("value") == "C1":
        return "Alder"
    return "Birch" if told.get("reference") == "Patient/p2" else ""


def visit(resource: Json) -> str:
    """The visit that a resource names, and whose client it is about."""
    named = {"Encounter/e1": ("V1", "Alder"), "Encounter/e2": ("V2", "Alder"), "Encounter/e3": ("V3", "Birch")}
    told = resource.get("encounter") or resource.get("context") or {}
    number, who = named.get(told.get("reference", ""), ("", ""))
    return number if who == client(resource) else ""


def code(concept: Json | None) -> str:
    return str(concept["coding"][0]["code"]) if concept else ""


def certainty(resource: Json, titles: dict[str, str]) -> str:
    """`present`, `suspected`, `absent`, `past`, or `nothing`: what the resource may at most say of its client."""
    if any(".modifierExtension" in f".{path}" or path == "implicitRules" for path, _ in walk(resource)):
        return "nothing"
    words = [v for path, v in walk(resource) if TOKEN.search(str(v))]
    if any(DENYING.search(str(w)) for w in words):
        return "nothing"
    title = titles.get(f"{BASE}{resource['resourceType']}/{resource['id']}", "")
    if title == "10157-6":
        return "nothing"
    kind = resource["resourceType"]
    if kind == "MedicationStatement":
        inner = resource.get("contained", [{}])[0].get("status", "active")
        return "present" if resource["status"] == "active" and inner == "active" else "nothing"
    if kind == "AllergyIntolerance":
        verified, state = code(resource.get("verificationStatus")), code(resource.get("clinicalStatus"))
        if state not in ("active", "") or verified not in ("confirmed", "unconfirmed", ""):
            return "nothing"
        return "suspected" if verified == "unconfirmed" else "present"
    if kind == "Condition":
        verified = code(resource.get("verificationStatus"))
        state = code(resource.get("clinicalStatus"))
        if verified in ("entered-in-error", "nonsense"):
            return "nothing"
        sure = {"refuted": "absent", "confirmed": "present", "": "present"}.get(verified, "suspected")
        over = state in ("resolved", "inactive", "remission") or "abatementString" in resource or title == "11348-0"
        return ("past" if sure == "present" else "nothing") if over else sure
    if kind == "Procedure":
        done = resource.get("performedDateTime", "")
        if resource["status"] not in ("completed", "stopped") or done.startswith("2027"):
            return "nothing"
        if done.startswith("2018") or (done.startswith("2026-05") and visit(resource) == "V2"):
            return "past" if resource["status"] == "completed" else "nothing"
        return "present"
    if resource["status"] not in ("final", "amended") or {"dataAbsentReason", "interpretation", "component"} & set(
        resource
    ):
        return "nothing"
    if resource.get("effectiveDateTime", "2026-05-01")[:4] != "2026":
        return "nothing"
    if resource.get("effectiveDateTime") and visit(resource) != "V1" and visit(resource) != "V3":
        return "nothing"
    if "valueBoolean" in resource:
        return "present" if resource["valueBoolean"] else "absent"
    value = resource["valueCodeableConcept"]
    if value.get("text") == "negative":
        return "nothing"
    return {"52101004": "present", "2667000": "absent"}.get(code(value) if "coding" in value else "", "present")
