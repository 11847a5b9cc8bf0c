"""Definitions that nobody should have written: nothing is raised, nothing hangs, and what cannot be held is told.

`told` is the least that has to be said, `errors` whether the resource has to be refused all the same.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import pytest

from bridge.check.profiles import check_profiles
from bridge.check.profiles.asked import asked_for
from bridge.issues import Severity
from tests.check.profiles.corpus import HOME, Json, address, definition

PATIENT: Json = {"resourceType": "Patient", "name": [{"family": "X", "given": ["A", "B"]}], "gender": "female"}
ANY = object()
URL = f"{HOME}/StructureDefinition/"


class Hostile(NamedTuple):
    name: str
    definitions: list[Any]
    told: bool = False
    """Whether something has to be told of it."""
    errors: Any = ANY
    """Whether there must be errors (True), must be none (False), or either."""
    resource: Json = PATIENT


def sd(name: str, *elements: Json, of: str = "Patient", **more: Any) -> Json:
    return {**definition({"sd": name, "of": of, "elements": list(elements)}), **more}


def nested(depth: int, key: str) -> Json:
    made: Json = {"end": 1}
    for _ in range(depth):
        made = {key: made}
    return made


def chain(count: int) -> list[Json]:
    """Profiles of profiles; the first asked for is the last made."""
    first = [sd("A", baseDefinition="@B0")]
    return [*first, *(sd(f"B{n}", baseDefinition=f"@B{n + 1}") for n in range(count)), sd(f"B{count}")]


SLICING = {"discriminator": [{"type": "value", "path": "system"}], "rules": "open"}


def slices(count: int) -> list[Json]:
    rows: list[Json] = [{"id": "Patient.identifier", "slicing": SLICING}]
    for n in range(count):
        rows.append({"id": f"Patient.identifier:s{n}", "max": "1"})
        rows.append({"id": f"Patient.identifier:s{n}.system", "min": 1, "fixedUri": f"urn:x:{n}"})
    return rows


def discriminated(path: Any, kind: Any = "value") -> Json:
    by = {"discriminator": [{"type": kind, "path": path}], "rules": "closed"}
    fixed = {"id": "Patient.name:a.family", "fixedString": "Y"}
    return sd("A", {"id": "Patient.name", "slicing": by}, {"id": "Patient.name:a", "min": 1}, fixed)


def ruled(expression: Any) -> Json:
    return sd("A", {"id": "Patient", "rule": [["x-1", "error", expression, "x"]]})


SELF_TYPED = [
    sd("A", {"id": "Patient.link.other", "to": ["@A"]}, {"id": "Patient.name", "profiled": {"HumanName": ["@N"]}}),
    sd("N", {"id": "HumanName", "type": [{"code": "HumanName", "profile": ["@N"]}]}, of="HumanName"),
]
LINKED: Json = {
    "resourceType": "Patient",
    "id": "p",
    "name": [{"family": "X"}],
    "contained": [{"resourceType": "Patient", "id": "q", "link": [{"other": {"reference": "#"}, "type": "seealso"}]}],
    "link": [{"other": {"reference": "#q"}, "type": "seealso"}],
}
BAD_SET = {"resourceType": "ValueSet", "url": "@vs/V", "status": "active"}
BOUND = sd("A", {"id": "Patient.maritalStatus", "vset": ["required", "@vs/V"]})
MARRIED: Json = {**PATIENT, "maritalStatus": {"coding": [{"system": "@cs/C", "code": "a"}]}}


def with_set(**compose: Any) -> list[Json]:
    return [BOUND, {**BAD_SET, "compose": compose}]


def tree(depth: int) -> list[Json]:
    concept: Json = {"code": "z"}
    for n in range(depth):
        concept = {"code": f"c{n}", "concept": [concept]}
    return [concept]


CODES = {"resourceType": "CodeSystem", "url": "@cs/C", "status": "active", "content": "complete"}
CASES = [
    Hostile("its own base", [sd("A", baseDefinition="@A")], told=True),
    Hostile(
        "a ring of bases",
        [sd("A", baseDefinition="@B"), sd("B", baseDefinition="@C"), sd("C", baseDefinition="@A")],
        told=True,
    ),
    Hostile("a base that is not at hand", [sd("A", baseDefinition="@Nowhere")], told=True),
    Hostile("no base", [{k: v for k, v in sd("A").items() if k != "baseDefinition"}]),
    Hostile("a base that is no text", [sd("A", baseDefinition=7)]),
    Hostile("a long chain of bases", chain(400)),
    Hostile("a base of another type", [sd("A", baseDefinition="^Observation")], told=True),
    Hostile("no differential and no snapshot", [{k: v for k, v in sd("A").items() if k != "differential"}]),
    Hostile("an empty differential", [sd("A", differential={})]),
    Hostile("elements that are no list", [sd("A", differential={"element": {"id": "Patient"}})]),
    Hostile("elements that are no objects", [sd("A", differential={"element": ["Patient", 7, None, []]})]),
    Hostile("elements without id and path", [sd("A", differential={"element": [{}, {"min": 1}]})]),
    Hostile("an empty snapshot", [sd("A", snapshot={"element": []})]),
    Hostile(
        "a snapshot of another type", [sd("A", snapshot={"element": [{"id": "Observation", "path": "Observation"}]})]
    ),
    Hostile("an element that the type has not", [sd("A", {"id": "Patient.wings", "min": 1})], told=True),
    Hostile(
        "an element under one that the type has not", [sd("A", {"id": "Patient.wings.feather", "min": 1})], told=True
    ),
    Hostile("more at least than at most", [sd("A", {"id": "Patient.telecom", "min": 3, "max": "1"})], errors=True),
    Hostile("min and max that are no numbers", [sd("A", {"id": "Patient.telecom", "min": "one", "max": "many"})]),
    Hostile("a max below nought", [sd("A", {"id": "Patient.telecom", "min": -5, "max": "-1"})]),
    Hostile("a huge max", [sd("A", {"id": "Patient.telecom", "max": "9" * 400})], errors=False),
    Hostile("a huge min", [sd("A", {"id": "Patient.telecom", "min": 10**40})], errors=True),
    Hostile("a required base element made optional", [sd("A", {"id": "Patient.link.other", "min": 0})]),
    Hostile("types that the element has not", [sd("A", {"id": "Patient.name", "types": ["Quantity"]})]),
    Hostile("types that are no types", [sd("A", {"id": "Patient.name", "type": ["HumanName", {"code": 7}, None]})]),
    Hostile(
        "a type profile that is not at hand",
        [sd("A", {"id": "Patient.name", "profiled": {"HumanName": ["@No"]}})],
        told=True,
        errors=False,
    ),
    Hostile(
        "a type profile of another type",
        [sd("A", {"id": "Patient.name", "profiled": {"HumanName": ["@Q"]}}), sd("Q", of="Quantity")],
    ),
    Hostile("a profile that asks itself of its parts", SELF_TYPED, resource=LINKED),
    Hostile("a slicing without a path", [discriminated("")]),
    Hostile("a discriminator that leads nowhere", [discriminated("wings.feather")], told=True),
    Hostile("a discriminator that is no path", [discriminated("where(use = 'x'")], told=True),
    Hostile("a discriminator of no known kind", [discriminated("family", "magic")]),
    Hostile("a discriminator that is no text", [discriminated(["family"], 7)]),
    Hostile("a discriminator with a very long path", [discriminated(".".join(["family"] * 5000))]),
    Hostile("a discriminator through nothing to resolve", [discriminated("resolve().resolve().resolve().code")]),
    Hostile("a slicing that is no object", [sd("A", {"id": "Patient.name", "slicing": 5}, {"id": "Patient.name:a"})]),
    Hostile(
        "slices without a slicing", [sd("A", {"id": "Patient.name:a", "min": 1}, {"id": "Patient.name:b", "max": "0"})]
    ),
    Hostile(
        "two slices of one name",
        [
            sd(
                "A",
                {"id": "Patient.name", "slicing": SLICING},
                {"id": "Patient.name:a"},
                {"id": "Patient.name:a", "min": 1},
            )
        ],
    ),
    Hostile(
        "10,000 slices",
        [sd("A", *slices(10_000))],
        resource={"resourceType": "Patient", "identifier": [{"system": f"urn:x:{n}"} for n in range(50)]},
        errors=False,
    ),
    Hostile(
        "a slice in a slice in a slice",
        [sd("A", {"id": "Patient" + "".join(f".contact:s{n}" for n in range(300)), "min": 1})],
    ),
    Hostile("an id of 10,000 steps", [sd("A", {"id": "Patient" + ".extension" * 10_000, "min": 1})]),
    Hostile("deep data in a pattern", [sd("A", {"id": "Patient.name", "patternHumanName": nested(400, "extension")})]),
    Hostile(
        "a fixed value of another type",
        [sd("A", {"id": "Patient.gender", "fixedCodeableConcept": {"text": "x"}})],
        errors=True,
    ),
    Hostile("a fixed value that is null", [sd("A", {"id": "Patient.gender", "fixedCode": None})]),
    Hostile(
        "both a fixed value and a pattern",
        [sd("A", {"id": "Patient.gender", "fixedCode": "male", "patternCode": "female"})],
        errors=True,
    ),
    Hostile("a limit of length that is no number", [sd("A", {"id": "Patient.name.family", "maxLength": "five"})]),
    Hostile("a limit of another type", [sd("A", {"id": "Patient.gender", "maxValueQuantity": {"value": "x"}})]),
    Hostile(
        "a limit that is no date",
        [sd("A", {"id": "Patient.birthDate", "minValueDate": "soon"})],
        resource={**PATIENT, "birthDate": "2000"},
    ),
    Hostile("an expression that does not end", [ruled("name.where(family = 'x'")], told=True, errors=False),
    Hostile("an expression of one thousand brackets", [ruled("(" * 1000 + "true" + ")" * 1000)], errors=False),
    Hostile("an expression that is very long", [ruled(" or ".join(["name.exists()"] * 5000))], errors=False),
    Hostile("an expression that is no text", [ruled({"a": 1})], errors=False),
    Hostile("an empty expression", [ruled("")], errors=False),
    Hostile("a function that there is not", [ruled("name.fly()")], told=True, errors=False),
    Hostile("a bad regular expression", [ruled("name.family.matches('(((')")], errors=False),
    Hostile(
        "a regular expression that goes back for ever",
        [ruled(r"name.family.matches('^(a+)+$')")],
        resource={"resourceType": "Patient", "name": [{"family": "a" * 60 + "!"}]},
    ),
    Hostile("an expression that repeats for ever", [ruled("repeat($this).count() > 0")]),
    Hostile("an expression that divides by nought", [ruled("1 / 0 = 1")], errors=True),
    Hostile("an expression that answers with a list", [ruled("name.given")]),
    Hostile(
        "an expression that multiplies",
        [
            ruled(
                "name.given.select(%resource.name.given.select(%resource.name.given"
                ".select(%resource.name.given.select(%resource.name.given)))).count() > 0"
            )
        ],
        resource={"resourceType": "Patient", "name": [{"given": ["A"] * 60}]},
    ),
    Hostile("constraints that are no objects", [sd("A", {"id": "Patient", "constraint": ["x", 5, {"key": 7}]})]),
    Hostile("a value set that is not at hand", [BOUND], told=True, errors=False, resource=MARRIED),
    Hostile("a value set of itself", with_set(include=[{"valueSet": ["@vs/V"]}]), resource=MARRIED),
    Hostile(
        "a ring of value sets",
        [
            *with_set(include=[{"valueSet": ["@vs/W"]}]),
            {**BAD_SET, "url": "@vs/W", "compose": {"include": [{"valueSet": ["@vs/V"]}]}},
        ],
        resource=MARRIED,
    ),
    Hostile("a value set without anything", [BOUND, BAD_SET], resource=MARRIED),
    Hostile(
        "a value set with a strange filter",
        with_set(include=[{"system": "@cs/C", "filter": [{"op": "magic", "value": 7}]}]),
        resource=MARRIED,
        errors=False,
    ),
    Hostile(
        "a value set with a bad regular expression",
        [
            *with_set(include=[{"system": "@cs/C", "filter": [{"property": "code", "op": "regex", "value": "(((("}]}]),
            {**CODES, "concept": [{"code": "a"}]},
        ],
        resource=MARRIED,
    ),
    Hostile("a value set that is no object", with_set(include=["@cs/C", 5, None]), resource=MARRIED),
    Hostile(
        "a code system as a very deep tree",
        [*with_set(include=[{"system": "@cs/C"}]), {**CODES, "concept": tree(200)}],
        resource=MARRIED,
        errors=True,
    ),
    Hostile(
        "a code system that supplements itself",
        [*with_set(include=[{"system": "@cs/C"}]), {**CODES, "content": "supplement", "supplements": "@cs/C"}],
        resource=MARRIED,
    ),
    Hostile("a binding without a set", [sd("A", {"id": "Patient.gender", "binding": {"strength": "required"}})]),
    Hostile("a binding that is no object", [sd("A", {"id": "Patient.gender", "binding": "required"})]),
    Hostile(
        "a content reference to itself", [sd("A", {"id": "Patient.contact", "contentReference": "#Patient.contact"})]
    ),
    Hostile(
        "a content reference that leads nowhere",
        [sd("A", {"id": "Patient.contact", "contentReference": "#Patient.wings"})],
    ),
    Hostile("a type that there is not", [sd("A", of="Dragon")], told=True),
    Hostile("a type that is no text", [sd("A", type=["Patient"])]),
    Hostile("a definition as a logical model", [sd("A", kind="logical", type="http://example.org/Dragon")], told=True),
    Hostile("a definition that is no object", [sd("A"), None, 5, "x" * 10, ["y"]]),
    Hostile(
        "a context that is no list",
        [sd("A", of="Extension", context={"type": 5})],
        resource={**PATIENT, "extension": [{"url": "@A", "valueCode": "x"}]},
    ),
    Hostile(
        "a context that is no expression",
        [sd("A", of="Extension", context=[{"type": "fhirpath", "expression": "((("}])],
        resource={**PATIENT, "extension": [{"url": "@A", "valueCode": "x"}]},
    ),
    Hostile("one definition twice", [sd("A", {"id": "Patient.name", "max": "0"}), sd("A")]),
]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_a_hostile_definition_is_survived(case: Hostile) -> None:
    definitions = [address(one) for one in case.definitions]
    asked = asked_for([f"{URL}A"], [one for one in definitions if isinstance(one, dict)])
    issues = [*asked.library.issues, *check_profiles(address(case.resource), "Patient", asked)]
    errors = [i for i in issues if i.severity >= Severity.error]
    shown = [(i.rule, i.where.path, i.message) for i in issues][:5]
    if case.told:
        assert issues, case.name
    if case.errors is not ANY:
        assert bool(errors) is case.errors, shown
    assert len(issues) < 5000
    assert all(len(i.message) < 2000 for i in issues)
