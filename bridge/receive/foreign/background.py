"""Allergies and medicines of another system, as far as they were known at one visit."""

from __future__ import annotations

from bridge.fhir.systems import SCT
from bridge.receive.foreign.facts import Case, Fact, doubted
from bridge.receive.foreign.nodes import Node, Taking, valid
from bridge.receive.foreign.statements import doubt, standing
from bridge.visit.care import Allergy
from bridge.visit.ear import Product

NO_ALLERGY = (SCT, "716186003")
"""SNOMED CT: no known allergy."""


def read_allergy(node: Node, case: Case) -> list[Fact]:
    """An allergy that is active, or that none is known, which counts only where nothing else is told of allergies."""
    take = Taking()
    said = standing(node, take)
    if said not in ("stated", "suspected", "") or node.has("abatement"):
        return []
    code = node.at("code")
    if set(code.codes()) == {NO_ALLERGY}:
        alone = case.lonely_allergy and said != "suspected"
        return [Fact("no allergy", "none known", take)] if alone else []
    if doubt(code, "allergy"):
        doubted(node, case)
        return []
    term = take.term(code, {"stated": "present", "suspected": "suspected"}.get(said))
    reactions = [m for r in node.each("reaction") for m in r.each("manifestation")]
    told = take.say(reactions[0], "text") if len(reactions) == 1 else None
    value = valid(Allergy, {"term": term, "reaction": told, "note": take.notes(node)}) if term else None
    return [Fact("allergies", value, take)] if value else []


def read_medicine(node: Node, case: Case) -> list[Fact]:
    """A medicine that the client takes or is to take."""
    take = Taking()
    if standing(node, take) != "stated" or node.at("effectivePeriod").has("end"):
        return []
    concept = node.at("medicationCodeableConcept")
    if concept.data is None:
        medication = case.addresses.find(node.at("medicationReference"))
        if not medication or medication.text("resourceType") != "Medication" or medication.source.modified:
            return []
        if medication.has("status") and medication.text("status") != "active":
            return []
        concept = medication.at("code")
    if doubt(concept, "medicine"):
        doubted(node, case)
        return []
    name = take.term(concept)
    doses = node.each("dosage") or node.each("dosageInstruction")
    dose = take.say(doses[0], "text") if len(doses) == 1 else None
    start = take.when(node.at("effectivePeriod"), "start")
    fields = {"name": name, "dose": dose, "start": start, "note": take.notes(node)}
    value = valid(Product, fields) if name else None
    return [Fact("medicines", value, take)] if value else []
