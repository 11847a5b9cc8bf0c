"""V: Constraints of what is planned, ordered, given and found out by other clinical resources."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.check.invariants.registry import each, invariant
from bridge.check.invariants.values import kind_of, number
from bridge.check.look import has, part, text
from bridge.check.node import Node
from bridge.check.ucum import UCUM
from bridge.moments import later
from bridge.shapes import Json


@invariant("V152", "mad-1", "MedicationAdministration.dosage")
def mad_1(node: Json, at: Node) -> bool:
    return has(node, "dose", "rate[x]")


@invariant("V160", "cpl-3", "CarePlan.activity")
def cpl_3(node: Json, at: Node) -> bool:
    return not (has(node, "detail") and has(node, "reference"))


@invariant("V161", "prr-1", "ServiceRequest")
def prr_1(node: Json, at: Node) -> bool:
    return not has(node, "orderDetail") or has(node, "code")


@invariant("V210", "ctm-1", "CareTeam.participant")
def ctm_1(node: Json, at: Node) -> bool:
    """Judged where the reference itself, or what is contained, tells the type; nothing is fetched. A member of no known
    type may be a practitioner, and one who is not named (only a role) is left alone, as in the expression."""
    kind = kind_of(part(node, "member"), at.resource)
    return not has(node, "onBehalfOf") or kind in ("", "Practitioner")


@invariant("V211", "fhs-1", "FamilyMemberHistory")
def fhs_1(node: Json, at: Node) -> bool:
    return not (has(node, "age[x]") and has(node, "born[x]"))


@invariant("V212", "fhs-2", "FamilyMemberHistory")
def fhs_2(node: Json, at: Node) -> bool:
    return not has(node, "estimatedAge") or has(node, "age[x]")


@invariant("V213", "gol-1", "Goal.target")
def gol_1(node: Json, at: Node) -> bool:
    return not has(node, "detail[x]") or has(node, "measure")


@invariant("V214", "imm-1", "Immunization.education")
def imm_1(node: Json, at: Node) -> bool:
    return has(node, "documentType", "reference")


@invariant("V215", "imr-1", "ImmunizationRecommendation.recommendation")
def imr_1(node: Json, at: Node) -> bool:
    return has(node, "vaccineCode", "targetDisease")


@invariant("V216", "mdd-1", "MedicationDispense")
def mdd_1(node: Json, at: Node) -> bool:
    """Compared as far as both are known, as in periods."""
    return not later(text(node, "whenPrepared"), text(node, "whenHandedOver"))


@invariant("V217", "msq-3", "MolecularSequence")
def msq_3(node: Json, at: Node) -> bool:
    system = number(node.get("coordinateSystem"))
    return system is None or system in (0, 1)


@invariant("V218", "msq-5", "MolecularSequence.referenceSeq")
def msq_5(node: Json, at: Node) -> bool:
    return has(node, "chromosome") == has(node, "genomeBuild")


@invariant("V219", "msq-6", "MolecularSequence.referenceSeq")
def msq_6(node: Json, at: Node) -> bool:
    ways = ("genomeBuild", "referenceSeqId", "referenceSeqPointer", "referenceSeqString")
    return sum(has(node, way) for way in ways) == 1


@invariant("V220", "nor-1", "NutritionOrder")
def nor_1(node: Json, at: Node) -> bool:
    return has(node, "oralDiet", "supplement", "enteralFormula")


@invariant("V221", "rqg-1", "RequestGroup.action")
def rqg_1(node: Json, at: Node) -> bool:
    return has(node, "resource") != has(node, "action")


@each("V222", "ras-1", "RiskAssessment.prediction")
def ras_1(node: Json, at: Node) -> Iterator[str]:
    """Both ends of a range; published on the probability, whichever way it is told."""
    asked = part(node, "probabilityRange")
    if any(has(asked, end) and not _percent(part(asked, end)) for end in ("low", "high")):
        yield ".probabilityRange"


@invariant("V223", "ras-2", "RiskAssessment.prediction")
def ras_2(node: Json, at: Node) -> bool:
    value = number(node.get("probabilityDecimal"))
    return value is None or value <= 100


def _percent(quantity: Json) -> bool:
    return (text(quantity, "system"), text(quantity, "code")) == (UCUM, "%")
