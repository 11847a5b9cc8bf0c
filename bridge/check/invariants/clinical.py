"""V: Constraints of clinical resources."""

from __future__ import annotations

from bridge.check.invariants.registry import invariant
from bridge.check.invariants.values import ENTERED_IN_ERROR, TERMINOLOGY, is_coded
from bridge.check.look import codings, has, parts
from bridge.check.node import Node
from bridge.shapes import Json


@invariant("V130", "obs-3", "Observation.referenceRange")
def obs_3(node: Json, at: Node) -> bool:
    return has(node, "low", "high", "text")


@invariant("V131", "obs-6", "Observation")
def obs_6(node: Json, at: Node) -> bool:
    return not (has(node, "dataAbsentReason") and has(node, "value[x]"))


@invariant("V132", "obs-7", "Observation")
def obs_7(node: Json, at: Node) -> bool:
    own = set(codings(node, "code"))
    return not (has(node, "value[x]") and any(own.intersection(codings(c, "code")) for c in parts(node, "component")))


@invariant("V140", "con-1", "Condition.stage")
def con_1(node: Json, at: Node) -> bool:
    return has(node, "summary", "assessment")


@invariant("V141", "con-2", "Condition.evidence")
def con_2(node: Json, at: Node) -> bool:
    return has(node, "code", "detail")


@invariant("V142", "con-3", "Condition")
def con_3(node: Json, at: Node) -> bool:
    """By its text; the published expression compares a concept with a string and so speaks of every category."""
    problem = (TERMINOLOGY + "condition-category", "problem-list-item") in codings(node, "category")
    return not problem or has(node, "clinicalStatus") or _entered_in_error(node)


@invariant("V143", "con-4", "Condition")
def con_4(node: Json, at: Node) -> bool:
    return not has(node, "abatement[x]") or any(
        is_coded(node, "clinicalStatus", "condition-clinical", code) for code in ("resolved", "remission", "inactive")
    )


@invariant("V144", "con-5", "Condition")
def con_5(node: Json, at: Node) -> bool:
    return not (has(node, "clinicalStatus") and _entered_in_error(node))


@invariant("V150", "ait-1", "AllergyIntolerance")
def ait_1(node: Json, at: Node) -> bool:
    wrong = is_coded(node, "verificationStatus", "allergyintolerance-verification", ENTERED_IN_ERROR)
    return wrong or has(node, "clinicalStatus")


@invariant("V151", "ait-2", "AllergyIntolerance")
def ait_2(node: Json, at: Node) -> bool:
    wrong = is_coded(node, "verificationStatus", "allergyintolerance-verification", ENTERED_IN_ERROR)
    return not (wrong and has(node, "clinicalStatus"))


@invariant("V152", "mad-1", "MedicationAdministration.dosage")
def mad_1(node: Json, at: Node) -> bool:
    return has(node, "dose", "rate[x]")


@invariant("V160", "cpl-3", "CarePlan.activity")
def cpl_3(node: Json, at: Node) -> bool:
    return not (has(node, "detail") and has(node, "reference"))


@invariant("V161", "prr-1", "ServiceRequest")
def prr_1(node: Json, at: Node) -> bool:
    return not has(node, "orderDetail") or has(node, "code")


def _entered_in_error(condition: Json) -> bool:
    return is_coded(condition, "verificationStatus", "condition-ver-status", ENTERED_IN_ERROR)
