"""Allergies, cautions, medicines and drops, and what is known from before, in words without ear and full stop."""

from __future__ import annotations

from bridge.fhir.own import first_word, word
from bridge.fhir.strength import strength_words
from bridge.fhir.tell.words import asserted, day, label, words
from bridge.shapes import Json
from bridge.wording import say

_STATUSES = ("not-taken", "not-done", "stopped", "on-hold")


def around_subject(resource: Json) -> str:
    """What the fact is about: `caution`, `softener used before the visit`; empty for other types of resource."""
    type = resource["resourceType"]
    if is_past_event(resource):
        return say("subject.past-event")
    if type == "AllergyIntolerance":
        return say("subject.allergy")
    if type == "MedicationStatement" and word("product-list", resource.get("category")) == "softener":
        return label(resource["category"])
    if type in ("MedicationAdministration", "MedicationStatement"):
        return say("subject.product" if "partOf" in resource else "subject.medicine")
    return say(_ABOUT[type]) if type in _ABOUT else ""


_ABOUT = {"Flag": "subject.caution", "DeviceUseStatement": "subject.hearing-aid", "Media": "subject.picture"}
_SAID = {("softener", "used before")}
"""When a product was used, where its list has said that already."""


def allergy_fact(allergy: Json) -> str:
    """`latex, as told by the client; reaction: rash`."""
    code, verification = allergy.get("code", {}), allergy.get("verificationStatus")
    if "refuted" in _codes(verification):
        said = asserted("absent", code)
    elif _codes(allergy.get("clinicalStatus")) & {"inactive", "resolved"}:
        said = asserted("past", code)
    elif word("assertion", verification) == "suspected":
        said = asserted("suspected", code)
    else:
        said = say("told.allergy.client", allergy=words(code)) if "unconfirmed" in _codes(verification) else words(code)
    reactions = [words(m) for r in allergy.get("reaction", ()) for m in r.get("manifestation", ())]
    told = "; " + say("told.reaction", reactions=", ".join(reactions)) if any(reactions) else ""
    return f"{said}{told}{_notes(allergy)}"


def flag_fact(flag: Json) -> str:
    """`anticoagulant treatment, since 2019`."""
    code = flag.get("code", {})
    past = first_word("assertion", flag.get("category", ())) == "past" or flag.get("status") != "active"
    said = asserted("past", code) if past else words(code)
    since = flag.get("period", {}).get("start")
    return f"{said}, {say('told.since', when=day(since))}" if since else said


def past_event_fact(resource: Json) -> str:
    """`ventilation tube, 1998 to 2001`, of a Condition or a Procedure."""
    code, verification = resource.get("code", {}), _codes(resource.get("verificationStatus"))
    said = asserted("absent", code) if "refuted" in verification else words(code)
    said = asserted("suspected", code) if verification & {"unconfirmed", "provisional"} else said
    if resource["resourceType"] == "Condition" and not verification and not code.get("coding"):
        said = asserted("unread", code)  # words that nobody could read may hold a "no" or a "?"
    period = resource.get("performedPeriod", {})
    start = resource.get("onsetDateTime") or resource.get("performedDateTime") or period.get("start")
    end = resource.get("abatementDateTime") or period.get("end")
    if start and end:
        said += f", {say('told.from-to', start=day(start), end=day(end))}"
    elif start:
        said += f", {day(start)}"
    elif end:
        said += f", {say('told.until-only', end=day(end))}"
    return said + _notes(resource)


def is_past_event(resource: Json) -> bool:
    """Whether a Condition or a Procedure of ours tells of something from before this visit."""
    category = resource.get("category", ())
    return bool(first_word("history", category if isinstance(category, list | tuple) else [category]))


def medication_fact(resource: Json) -> str:
    """`olive oil, 2 drops, supplied, from 3 November 2026`, of a statement or of an administration."""
    medication: Json = next(iter(resource.get("contained", ())), {})
    code = medication.get("code") or resource.get("medicationCodeableConcept", {})
    reasons = resource.get("statusReason", ())
    doubt = first_word("assertion", reasons)
    found = [asserted(doubt, code) if doubt else words(code)]
    found += [s for s in (strength_words(i.get("strength", {})) for i in medication.get("ingredient", ())) if s]
    dosage = resource.get("dosage", ())
    found += [d["text"] for d in (dosage if isinstance(dosage, list) else [dosage]) if "text" in d]
    if resource.get("resourceType") == "MedicationAdministration":
        found += [say("told.used-in-clinic")] if resource.get("status") == "completed" else []
        start = resource.get("effectiveDateTime")
    else:
        kind, when = word("product-list", resource.get("category")), first_word("product-when", reasons)
        found += [label(r) for r in reasons if word("product-when", r) and (kind, when) not in _SAID]
        start = resource.get("effectivePeriod", {}).get("start")
    status = resource.get("status")
    found += [say(f"told.medicine.{status}")] if status in _STATUSES and doubt != "absent" else []
    found += [say("told.from", day=day(start))] if start else []
    batch = medication.get("batch", {})
    found += [say("told.batch", number=batch["lotNumber"])] if "lotNumber" in batch else []
    found += [say("told.expires", day=day(batch["expirationDate"]))] if "expirationDate" in batch else []
    return ", ".join(found) + _notes(resource)


def _codes(concept: Json | None) -> set[str]:
    return {str(c.get("code")) for c in (concept or {}).get("coding", ())}


def _notes(resource: Json) -> str:
    notes = [n["text"].rstrip(".") for n in resource.get("note", ()) if n.get("text")]
    return f" ({'; '.join(notes)})" if notes else ""
