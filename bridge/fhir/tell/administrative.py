"""Sentences for people, places, consents and where a record came from."""

from __future__ import annotations

from typing import Any

from bridge.fhir.own import word
from bridge.fhir.systems import system
from bridge.fhir.tell.words import address, day, label, listed, moment, name, words

Json = dict[str, Any]


def _codes(concept: Json | None) -> set[str]:
    return {str(c.get("code")) for c in (concept or {}).get("coding", ())}


def nhs_number(patient: Json) -> tuple[str, str] | None:
    """The NHS number spaced for reading, and what is known of its verification; None without one."""
    for identifier in patient.get("identifier", ()):
        if identifier.get("system") == system("nhs-number"):
            number = str(identifier.get("value", ""))
            status = next(
                (label(e["valueCodeableConcept"]) for e in identifier.get("extension", ()) if "valueCodeableConcept" in e),
                "verification status not recorded",
            )
            return f"{number[:3]} {number[3:6]} {number[6:]}".strip(), status
    return None


def tell_patient(patient: Json) -> str:
    said = [name(patient.get("name"))]
    if patient.get("birthDate"):
        said.append(f"born {day(patient['birthDate'])}")
    said += [address(a) for a in patient.get("address", ())]
    if number := nhs_number(patient):
        said.append(f"NHS number {number[0]} ({number[1]})")
    return ", ".join(said) + "."


def tell_practitioner(practitioner: Json) -> str:
    said = [name(practitioner.get("name")) or key_of(practitioner)]
    said += [f"register number {i['value']}" for i in practitioner.get("identifier", ()) if "type" not in i]
    said += [label(q["code"]) for q in practitioner.get("qualification", ())]
    return ", ".join(p for p in said if p) + "."


def key_of(resource: Json) -> str:
    """The practice's own key of a practitioner or of an address book entry."""
    return next((i["value"] for i in resource.get("identifier", ()) if word("key", i.get("type")) == "own key"), "")


def tell_practitioner_role(role: Json) -> str:
    return (listed([label(c) for c in role.get("code", ())]) or "Role not recorded") + "."


def tell_organization(organization: Json) -> str:
    said = [organization.get("name") or key_of(organization), *(address(a) for a in organization.get("address", ()))]
    said += [t["value"] for t in organization.get("telecom", ())]
    said += [label(c["purpose"]) for c in organization.get("contact", ()) if "purpose" in c]
    return ", ".join(p for p in said if p) + "."


def tell_encounter(encounter: Json) -> str:
    when = moment(encounter["period"]["start"]) if encounter.get("period", {}).get("start") else ""
    attendance = "; ".join(label(t) for t in encounter.get("type", ()))
    reasons = listed([words(r) for r in encounter.get("reasonCode", ())])
    said = ", ".join(p for p in (f"Visit of {when}" if when else "Visit", attendance) if p)
    return f"{said}. Came because of: {reasons}." if reasons else f"{said}."


def tell_consent(consent: Json) -> str:
    treatment = "treatment" in _codes(consent.get("scope"))
    policy = consent.get("policyRule", {})
    if treatment:
        said = next((c.get("display", "") for c in policy.get("coding", ())), "consent recorded")
        said = said[:1].upper() + said[1:]
    elif consent.get("status") == "inactive":
        said = "Consent to share was withdrawn"
    else:
        said = "Consent to share given" if "OPTIN" in _codes(policy) else "Consent to share refused"
    provision = consent.get("provision", {})
    scope = listed([label(c) for c in provision.get("code", ())])
    to = listed([a["reference"].get("display", "") for a in provision.get("actor", ())])
    said += f", for: {scope}" if scope else ""
    said += f", to: {to}" if to else ""
    said += f", on {day(consent['dateTime'])}" if consent.get("dateTime") else ""
    form = policy.get("text", "")
    said += f" ({form})" if form and form not in {c.get("display") for c in policy.get("coding", ())} else ""
    for nested in provision.get("provision", ()):
        for code in nested.get("code", ()):
            since = nested.get("period", {}).get("start")
            if word("consent", code) == "withdrawn":
                said += f"; withdrawn on {day(since)}" if since else "; withdrawn"
            else:
                said += f"; {_consent_word(code)}: {code.get('text', '')}"
    return said + "."


def _consent_word(code: Json) -> str:
    return next((str(c.get("display", "")) for c in code.get("coding", ())), "")


def tell_device(device: Json) -> str:
    names = listed([n["name"] for n in device.get("deviceName", ())])
    versions = listed([v["value"] for v in device.get("version", ())])
    return f"{names} {versions}".strip() + "."


def tell_provenance(provenance: Json) -> str:
    when = provenance.get("occurredDateTime") or provenance.get("recorded", "")
    sources = [
        e["what"]["identifier"]["value"] for e in provenance.get("entity", ()) if "identifier" in e.get("what", {})
    ]
    said = f"Recorded {moment(when)}" if when else "Recorded"
    return f"{said}. SHA-256 of the record as kept: {', '.join(sources)}." if sources else f"{said}."


def tell_composition(composition: Json) -> str:
    return f"{composition.get('title', 'Document')}, {moment(composition['date'])}."
