"""V: Constraints of observations, conditions and allergies."""

from __future__ import annotations

from bridge.check.invariants.registry import invariant
from bridge.check.invariants.values import TERMINOLOGY, entered_in_error, is_coded
from bridge.check.look import codings, has, part, parts, text
from bridge.check.node import Node
from bridge.shapes import Json

_CONDITION = "condition-ver-status"
_ALLERGY = "allergyintolerance-verification"


@invariant("V130", "obs-3", "Observation.referenceRange")
def obs_3(node: Json, at: Node) -> bool:
    return has(node, "low", "high", "text")


@invariant("V131", "obs-6", "Observation")
def obs_6(node: Json, at: Node) -> bool:
    return not (has(node, "dataAbsentReason") and has(node, "value[x]"))


@invariant("V132", "obs-7", "Observation")
def obs_7(node: Json, at: Node) -> bool:
    """The same is what has a coding in common: system and code, whatever the display, which is compared as published;
    or, without a code, all that it says."""
    if not (has(node, "component") and has(node, "value[x]")):
        return True
    own = _codings(node)
    return all(own.isdisjoint(_codings(component)) for component in parts(node, "component"))


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
    return not problem or has(node, "clinicalStatus") or entered_in_error(node, _CONDITION)


@invariant("V143", "con-4", "Condition")
def con_4(node: Json, at: Node) -> bool:
    return not has(node, "abatement[x]") or any(
        is_coded(node, "clinicalStatus", "condition-clinical", code) for code in ("resolved", "remission", "inactive")
    )


@invariant("V144", "con-5", "Condition")
def con_5(node: Json, at: Node) -> bool:
    return not (has(node, "clinicalStatus") and entered_in_error(node, _CONDITION))


@invariant("V150", "ait-1", "AllergyIntolerance")
def ait_1(node: Json, at: Node) -> bool:
    return entered_in_error(node, _ALLERGY) or has(node, "clinicalStatus")


@invariant("V151", "ait-2", "AllergyIntolerance")
def ait_2(node: Json, at: Node) -> bool:
    return not (entered_in_error(node, _ALLERGY) and has(node, "clinicalStatus"))


def _codings(node: Json) -> set[tuple[str, ...]]:
    """Codings of the code to compare: system and code where there is a code, all of it where there is none."""
    found = parts(part(node, "code"), "coding")
    return {(text(c, "system"), code) if (code := text(c, "code")) else _all_of(c) for c in found}


def _all_of(coding: Json) -> tuple[str, ...]:
    try:
        return (*sorted(map(str, coding.items())),)
    except ValueError:  # a number of thousands of digits is like no other
        return (str(id(coding)),)
