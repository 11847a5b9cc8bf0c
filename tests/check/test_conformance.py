"""Constraints on terminology, conformance statements and operations, in published definitions broken on purpose.

Oracle: the definition files of FHIR R4 4.0.1. Untouched they are clean (test_published_definitions.py); a fault made
in a real one must be told under its rule, at its place, and nothing else with it. The cases of each rule stand in
tests/cases.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterator
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
import yaml

from bridge.check.conformance import careful, check_conformance
from bridge.check.invariants import constraints
from bridge.check.node import OUTERMOST, Node
from bridge.issues import Severity, rules
from tests.check.published import published
from tests.spots import spots
from tests.work import work

MOST = 25
"""About so many faults of each kind, taken at even steps from all places where one can be made."""
Breaks = Callable[[Any], bool]
"""Changes an object and says whether it could."""


def within(node: Any, key: str, path: str, below: str = "") -> Iterator[tuple[str, Any]]:
    """Objects of a nested list at every depth with their paths."""
    for at, item in enumerate(node.get(key, [])):
        yield f"{path}.{key}[{at}]", item
        yield from within(item, below or key, f"{path}.{key}[{at}]", below)


def places(resource: Any) -> Iterator[tuple[str, Any]]:
    """What the faults are made in: the resource itself and its parts with constraints of their own."""
    yield resource["resourceType"], resource
    yield from within(resource.get("compose", {}), "include", "ValueSet.compose")
    yield from within(resource.get("compose", {}), "exclude", "ValueSet.compose")
    yield from within(resource.get("expansion", {}), "contains", "ValueSet.expansion")
    if resource["resourceType"] == "OperationDefinition":
        yield from within(resource, "parameter", "OperationDefinition", "part")
    if resource["resourceType"] == "CapabilityStatement":
        for at, rest in enumerate(resource["rest"]):
            yield f"CapabilityStatement.rest[{at}]", rest
            yield from within(rest, "resource", f"CapabilityStatement.rest[{at}]")


def a_code_again_further_down(system: Any) -> bool:
    concepts = system.get("concept", [])
    if len(concepts) < 2 or not concepts[0].get("concept"):
        return False
    concepts[0]["concept"][-1]["code"] = concepts[1]["code"]
    return not any(concept.get("property") for concept in concepts)


def a_code_again(system: Any) -> bool:
    if not system.get("concept") or "count" in system:
        return False
    system["concept"].append({"code": system["concept"][0]["code"]})
    return True


def neither_system_nor_set(part: Any) -> bool:
    if set(part) != {"system"}:
        return False
    part["version"] = part.pop("system")
    return True


def concepts_of_no_system(part: Any) -> bool:
    if "concept" not in part:
        return False
    part["valueSet"] = [part.pop("system")]
    return True


def concepts_and_filters(part: Any) -> bool:
    part["filter"] = [{"property": "concept", "op": "is-a", "value": "a"}]
    return "concept" in part and "system" in part


def no_code(entry: Any) -> bool:
    return bool(entry.pop("code", None) and entry.get("display") and not entry.get("abstract"))


def no_system(entry: Any) -> bool:
    return bool(entry.pop("system", None) and entry.get("code"))


def no_type(parameter: Any) -> bool:
    return bool(parameter.pop("type", None)) and not {"part", "searchType", "targetProfile"} & set(parameter)


def searched_code(parameter: Any) -> bool:
    parameter["searchType"] = "token"
    return bool(parameter.get("type") == "code")


def profiled_code(parameter: Any) -> bool:
    parameter["targetProfile"] = ["http://hl7.org/fhir/StructureDefinition/Patient"]
    return bool(parameter.get("type") == "code")


def xpath_without_usage(search: Any) -> bool:
    return bool(search.pop("xpathUsage", None) and search.get("xpath"))


def chained_token(search: Any) -> bool:
    search["chain"] = ["name"]
    return bool(search["type"] == "token")


def a_resource_again(rest: Any) -> bool:
    if "mode" not in rest:
        return False
    rest["resource"].append({"type": rest["resource"][0]["type"]})
    return True


def a_parameter_again(resource: Any) -> bool:
    resource.get("searchParam", []).append(copy.deepcopy(resource.get("searchParam", [None])[0]))
    return len(resource.get("searchParam", [])) > 1


FAULTS: list[tuple[str, str, str, Breaks, int]] = [
    ("V350", "v3-codesystems", "CodeSystem", a_code_again_further_down, 1),
    ("V350", "v2-tables", "CodeSystem", a_code_again, MOST),
    ("V356", "valuesets", "ValueSet.compose", neither_system_nor_set, MOST),
    ("V357", "valuesets", "ValueSet.compose", concepts_of_no_system, MOST),
    ("V358", "valuesets", "ValueSet.compose", concepts_and_filters, MOST),
    ("V360", "valueset-expansions", "ValueSet.expansion", no_code, MOST),
    ("V361", "valueset-expansions", "ValueSet.expansion", no_system, MOST),
    ("V377", "profiles-resources", "CapabilityStatement.rest[0]", a_resource_again, 2),
    ("V378", "profiles-resources", "CapabilityStatement.rest[0].resource", a_parameter_again, MOST),
    ("V380", "search-parameters", "SearchParameter", xpath_without_usage, MOST),
    ("V381", "search-parameters", "SearchParameter", chained_token, MOST),
    ("V382", "profiles-resources", "OperationDefinition.parameter", no_type, MOST),
    ("V383", "profiles-resources", "OperationDefinition.parameter", searched_code, MOST),
    ("V384", "profiles-resources", "OperationDefinition.parameter", profiled_code, MOST),
]
"""Rule, file, how the paths of the places begin, the fault, and how many there must be at least."""


@cache
def all_of(name: str, type: str) -> list[Any]:
    return [resource for resource in published(name) if resource["resourceType"] == type]


@pytest.mark.parametrize(("code", "file", "start", "breaks", "least"), FAULTS, ids=[f[3].__name__ for f in FAULTS])
def test_a_fault_is_told(code: str, file: str, start: str, breaks: Breaks, least: int) -> None:
    type = start.partition(".")[0]
    chosen = [
        (resource, at)
        for resource in all_of(file, type)
        for at, (path, node) in enumerate(places(resource))
        if path.startswith(start) and (start == type or path != type) and breaks(copy.deepcopy(node))
    ]
    assert len(chosen) >= least
    for resource, at in chosen[:: max(1, len(chosen) // MOST)]:
        broken = copy.deepcopy(resource)
        path, node = list(places(broken))[at]
        breaks(node)
        errors = [(i.rule, i.where.path) for i in check_conformance(broken) if i.severity >= Severity.error]
        assert errors == [(code, path)]


def cost(concepts: list[Any]) -> int:
    system = {"resourceType": "CodeSystem", "status": "draft", "content": "complete", "concept": concepts}
    at = Node("CodeSystem", "CodeSystem", system, OUTERMOST, system)
    functions = [holds for _, key, holds in constraints("CodeSystem") if key.startswith(("csd", "Code"))]
    assert all(holds(system, at) for holds in functions)
    return work(lambda: [holds(system, at) for holds in functions])


@pytest.mark.parametrize("wide", [True, False], ids=["beside each other", "below each other"])
def test_the_cost_of_a_code_system_grows_with_its_concepts(wide: bool) -> None:
    """Eight times the concepts: eight times the work, and not sixty-four."""

    def concepts(count: int) -> list[Any]:
        made: list[Any] = [{"code": f"c{number}"} for number in range(count)]
        if wide:
            return made
        for above, below in pairwise(made):
            above["concept"] = [below]
        return made[:1]

    assert cost(concepts(8_000)) < 9 * cost(concepts(1_000))


JUNK: list[Any] = [None, [], {}, "", 0, True, 1.5, "left ear", [None], [[]], [{}], ["a"], [{"a": []}], {"a": "b"}]
CASES = sorted(p for p in (Path(__file__).parents[1] / "cases").glob("V*.yaml") if "V350" <= p.stem < "V450")


@pytest.mark.parametrize("path", CASES, ids=lambda p: p.stem)
def test_anything_in_any_place_is_answered(path: Path) -> None:
    resource = yaml.safe_load(path.read_text(encoding="utf-8"))["passes"][0]
    for at in range(len(list(spots(resource)))):
        for value in JUNK:
            broken = copy.deepcopy(resource)
            holder, key = list(spots(broken))[at]
            holder[key] = value
            assert all(i.rule in rules() for i in careful(broken))
