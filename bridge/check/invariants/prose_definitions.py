"""V: what the definitions of conformance and terminology resources and of plans demand in prose.

Source: the definitions and comments of the elements named beside each function, in the published resources of R4.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from bridge.check.invariants.prose_types import relative
from bridge.check.invariants.registry import each, invariant
from bridge.check.look import numbered, part, parts, text
from bridge.check.node import MAX_DEPTH, MAX_OBJECTS, Node
from bridge.fhir import tables
from bridge.shapes import Json

WITH_URL = """ActivityDefinition CapabilityStatement ChargeItemDefinition CodeSystem CompartmentDefinition ConceptMap
    Contract EffectEvidenceSynthesis EventDefinition Evidence EvidenceVariable ExampleScenario GraphDefinition
    ImplementationGuide Library Measure MessageDefinition OperationDefinition PlanDefinition Questionnaire
    ResearchDefinition ResearchElementDefinition RiskEvidenceSynthesis SearchParameter StructureDefinition
    StructureMap TerminologyCapabilities TestScript ValueSet"""
"""Resources with a canonical address of their own."""
_WITH_SYSTEM = (
    "ConceptMap.group.element.target.dependsOn",
    "ValueSet.compose.include",
    "ValueSet.expansion.contains",
)
_MAXIMA = (
    "ElementDefinition.base",
    "GraphDefinition.link",
    "OperationDefinition.parameter",
    "ParameterDefinition",
    "StructureMap.group.rule.source",
)
_MAXIMUM = re.compile(r"\*|[0-9]+")
_MOMENTS = frozenset({"date", "dateTime", "instant"})
_OPEN = frozenset({"Element", "BackboneElement", "Resource", "DomainResource"})
_NAME = r"(?:\$this|[A-Za-z_][A-Za-z0-9_]*(?:\[x\])?|`[^`]+`)"
_CALL = r"(?:resolve\(\)|(?:ofType|as)\([A-Za-z0-9_.`]+\)|extension\((?:'[^']+'|\"[^\"]+\")\))"
_SIMPLE_PATH = re.compile(rf"(?:{_CALL}|{_NAME})(?:\[[0-9]+\])?(?:\.(?:{_CALL}|{_NAME})(?:\[[0-9]+\])?)*")
_EDITION = re.compile(r"4\.0(?:\.[0-9]+)?")


@each("V460", "url", *WITH_URL.split())
def url_absolute(node: Json, at: Node) -> Iterator[str]:
    """The definition of each of these url calls it an absolute URI."""
    if relative(node, "url"):
        yield ".url"


@each("V461", "system", *_WITH_SYSTEM)
def system_in_terminology(node: Json, at: Node) -> Iterator[str]:
    """Definitions of ValueSet.compose.include.system, ValueSet.expansion.contains.system and ConceptMap's dependsOn. A
    fragment is let through: so the published value set `example-hierarchical` names the code system it contains."""
    if relative(node, "system") and not text(node, "system").startswith("#"):
        yield ".system"


@each("V461", "source, target", "ConceptMap.group")
def systems_of_map(node: Json, at: Node) -> Iterator[str]:
    """Definitions of ConceptMap.group.source and target."""
    for side in ("source", "target"):
        if relative(node, side) and not text(node, side).startswith("#"):
            yield f".{side}"


@each("V462", "max", *_MAXIMA)
def maximum(node: Json, at: Node) -> Iterator[str]:
    """A number or *, in the definitions of max; those of element definitions and messages have keys (eld-3, md-1)."""
    value = node.get("max")
    if isinstance(value, str) and value and _MAXIMUM.fullmatch(value) is None:
        yield ".max"


@each("V463", "PlanDefinition.action.goalId", "PlanDefinition")
def goals_of_actions(node: Json, at: Node) -> Iterator[str]:
    """The comment says must: a goal of this plan, by its element id."""
    goals = {text(goal, "id") for goal in parts(node, "goal")}
    for place, action in _nested(node, "action"):
        named = action.get("goalId")
        for index, id in enumerate(named if isinstance(named, list) else ()):
            if isinstance(id, str) and id not in goals:
                yield f"{place}.goalId[{index}]"


@each("V464", "StructureMap.group.name", "StructureMap")
def groups_named_once(node: Json, at: Node) -> Iterator[str]:
    yield from _repeated(node, "group", "name")


@each("V465", "GraphDefinition.link.path", "GraphDefinition.link")
def path_stays_here(node: Json, at: Node) -> Iterator[str]:
    if "resolve()" in text(node, "path"):
        yield ".path"


@each("V466", "GraphDefinition.link.target.params", "GraphDefinition.link.target")
def params_name_the_focus(node: Json, at: Node) -> Iterator[str]:
    params = text(node, "params")
    if params and "{ref}" not in params:
        yield ".params"


@each("V467", "TestScript.origin.index, TestScript.destination.index", "TestScript")
def index_given_once(node: Json, at: Node) -> Iterator[str]:
    yield from _repeated(node, "origin", "index")
    yield from _repeated(node, "destination", "index")


@each("V468", "TestScript.setup.action.operation.origin, destination", "TestScript")
def index_is_listed(node: Json, at: Node) -> Iterator[str]:
    """Every operation, of the tests and the tear-down too, which are defined by those of the set-up."""
    listed = {side: {_number(one.get("index")) for one in parts(node, side)} for side in ("origin", "destination")}
    for place, operation in _operations(node):
        for side, known in listed.items():
            if _number(operation.get(side)) not in known | {None}:
                yield f"{place}.{side}"


@invariant("V469", "TestScript.setup.action.assert.headerField", "TestScript.setup.action.assert")
def value_of_header(node: Json, at: Node) -> bool:
    """Comment of headerField. To ask whether there is one at all, no value can be given."""
    compared = text(node, "operator") not in ("empty", "notEmpty")
    return "headerField" not in node or not compared or "value" in node or "_value" in node


@each("V470", "CapabilityStatement.fhirVersion", "CapabilityStatement")
def version_of_this(node: Json, at: Node) -> Iterator[str]:
    """SHALL be the version that the statement itself is written in, which is R4 here."""
    version = node.get("fhirVersion")
    if isinstance(version, str) and version and _EDITION.fullmatch(version) is None:
        yield ".fhirVersion"


@each("V471", "DataRequirement.mustSupport", "DataRequirement")
def supported_paths(node: Json, at: Node) -> Iterator[str]:
    """Identifiers, constant indexers and resolve(), and what else the simple subset of FHIRPath allows."""
    paths = node.get("mustSupport")
    for index, path in enumerate(paths if isinstance(paths, list) else ()):
        if isinstance(path, str) and path and _SIMPLE_PATH.fullmatch(path) is None:
            yield f".mustSupport[{index}]"


@each("V471", "path", "DataRequirement.codeFilter", "DataRequirement.dateFilter", "DataRequirement.sort")
def filtered_paths(node: Json, at: Node) -> Iterator[str]:
    path = text(node, "path")
    if path and _SIMPLE_PATH.fullmatch(path) is None:
        yield ".path"


@each("V472", "ElementDefinition.minValue[x], ElementDefinition.maxValue[x]", "ElementDefinition")
def limits_of_the_type(node: Json, at: Node) -> Iterator[str]:
    """Comments of both: the type of the element; for days and moments also each other and how far away they are."""
    kinds = _types(node)
    if kinds and kinds & _MOMENTS:
        kinds = kinds | _MOMENTS | {"Quantity", "Duration"}
    for key in node:
        if (
            isinstance(key, str)
            and key[:8] in ("minValue", "maxValue")
            and key[8:]
            and kinds
            and _none_of(kinds, key[8:])
        ):
            yield f".{key}"


@each("V473", "ElementDefinition.example.value[x]", "ElementDefinition")
def example_of_the_type(node: Json, at: Node) -> Iterator[str]:
    """The definition says must. Only where the types of the element are named and all known."""
    kinds = _types(node)
    for index, row in numbered(node, "example") if kinds else ():
        for key in filter(_is_text, row):
            if key[:5] == "value" and _none_of(kinds, key[5:]):
                yield f".example[{index}].{key}"


@each("V474", "ValueSet.compose.include.filter.value", "ValueSet.compose.include.filter")
def exists_or_not(node: Json, at: Node) -> Iterator[str]:
    """Where the operator is exists the value is true or false, by the definition of value."""
    if text(node, "op") == "exists" and text(node, "value") not in ("", "true", "false"):
        yield ".value"


def _is_text(key: Any) -> bool:
    return isinstance(key, str)


def _number(value: Any) -> int | None:
    return value if isinstance(value, int) else None


def _types(element: Json) -> frozenset[str]:
    """The types that an element may have; none where one of them is not a data type of R4 that can be used."""
    named = [text(one, "code") for one in parts(element, "type")]
    plain = all(tables.knows(name) and not tables.is_resource(name) and name not in _OPEN for name in named)
    return frozenset(named if plain else ())


def _none_of(kinds: frozenset[str], given: str) -> bool:
    """Whether the type that ends the name of a choice (`Quantity`, `DateTime`) is none of these, nor a kind of one."""
    name = given if tables.knows(given) else given[:1].lower() + given[1:]
    if not tables.knows(name):
        return False
    return not any(name in tables.lineage(kind) or kind in tables.lineage(name) for kind in kinds)


def _repeated(node: Json, key: str, name: str) -> Iterator[str]:
    """Places of the entries of a list that have the same value as an earlier one."""
    met: set[str | int] = set()
    for index, row in numbered(node, key):
        value = row.get(name)
        if isinstance(value, str | int):
            if value in met:
                yield f".{key}[{index}].{name}"
            met.add(value)


def _nested(node: Json, key: str) -> Iterator[tuple[str, Json]]:
    """The entries of a list that holds lists of the same name, level by level, with their places."""
    level = [("", node)]
    for _ in range(MAX_DEPTH):
        if not level or len(level) > MAX_OBJECTS:
            return
        level = [found for place, holder in level for found in _rows(place, holder, key)]
        yield from level


def _rows(place: str, holder: Json, key: str) -> Iterator[tuple[str, Json]]:
    return ((f"{place}.{key}[{index}]", row) for index, row in numbered(holder, key))


def _operations(script: Json) -> Iterator[tuple[str, Json]]:
    holders = [(f".{name}", part(script, name)) for name in ("setup", "teardown")]
    holders += [(f".test[{n}]", test) for n, test in numbered(script, "test")]
    for place, holder in holders:
        for index, action in numbered(holder, "action"):
            operation = part(action, "operation")
            if operation:
                yield f"{place}.action[{index}].operation", operation
