"""Around the ears: allergies, medicines and softeners, standing cautions."""

from __future__ import annotations

from typing import Any

from bridge.fhir.elements import ear_of, term
from bridge.fhir.nothing import says_none
from bridge.fhir.own import first_word, word
from bridge.fhir.tell.observation import kind_of
from bridge.fhir.times import from_datetime
from bridge.receive.index import Index
from bridge.receive.products import product
from bridge.receive.values import asserted, kept, note_of, part_of_visit, when_in
from bridge.visit.care import Allergies, Allergy, Caution, Medicines
from bridge.visit.ear import Product

Json = dict[str, Any]


def allergies(index: Index, empty: Json | None) -> Allergies | None:
    """From the resources, or from the section's own reason (`empty`) where nobody asked."""
    found = [index.use(a) for a in index.of_type("AllergyIntolerance")]
    if found:
        return Allergies(items=tuple(_allergy(a) for a in found))
    if "nilknown" in codes(empty):
        return Allergies(answer="none known")
    return Allergies(answer="not asked") if "notasked" in codes(empty) else None


def _allergy(allergy: Json) -> Allergy:
    verification = allergy.get("verificationStatus")
    assertion = word("assertion", verification)
    if "refuted" in codes(verification):
        assertion = "absent"
    elif "active" not in codes(allergy.get("clinicalStatus")):
        assertion = "past"
    reactions = (m.get("text") for r in allergy.get("reaction", ()) for m in r.get("manifestation", ()))
    return part_of_visit(
        Allergy, kept(term=term(allergy["code"], assertion), reaction=next(reactions, None), note=note_of(allergy))
    )


def medicines(index: Index, empty: Json | None) -> Medicines | None:
    """From the resources, or from the section's own reason (`empty`) where there are none or nobody asked."""
    items = _statements(index, "medicine")
    if items:
        return Medicines(items=items)
    if "nilknown" in codes(empty):
        return Medicines(answer="none")
    return Medicines(answer="not asked") if "notasked" in codes(empty) else None


def softeners(index: Index) -> tuple[Product, ...]:
    return _statements(index, "softener")


def _statements(index: Index, kind: str) -> tuple[Product, ...]:
    found = (s for s in index.of_type("MedicationStatement") if word("product-list", s.get("category")) == kind)
    return tuple(product(index.use(s)) for s in found)


def cautions(index: Index) -> tuple[Caution, ...]:
    """In the order of the bundle, which is the order of the record, whatever each was written as."""
    found = []
    for resource in index.all:
        if resource["resourceType"] == "Flag":
            found.append(_flag(index, index.use(resource)))
        elif resource["resourceType"] == "Observation" and kind_of(resource) == "caution":
            found.append(_observation(index.use(resource)))
    return tuple(found)


def _flag(index: Index, flag: Json) -> Caution:
    since = flag.get("period", {}).get("start")
    past = first_word("assertion", flag.get("category", ())) == "past" or flag.get("status") == "inactive"
    notes = (o for o in index.of_type("Observation") if kind_of(o) == "caution-note")
    about = (o for o in notes if any(index.addresses.find(f) is flag for f in o.get("focus", ())))
    note = index.use(next(about, None))
    return part_of_visit(
        Caution,
        kept(
            term=term(flag["code"], "past" if past else "present"),
            ear=first_word("ear", flag.get("category", ())),
            since=from_datetime(since) if since else None,
            note=note["valueString"] if note else None,
        ),
    )


def _observation(observation: Json) -> Caution:
    found = asserted(observation)
    if found and found.assertion == "present" and not says_none(found):
        # one that is stated is a Flag; these are words that nobody could read
        found = found.model_copy(update={"assertion": None})
    return part_of_visit(
        Caution,
        kept(
            term=found,
            ear=ear_of(observation.get("bodySite")),
            since=when_in(observation, "symptom-onset"),
            note=note_of(observation),
        ),
    )


def codes(concept: Json | None) -> list[str]:
    return [str(c.get("code")) for c in (concept or {}).get("coding", ())]
