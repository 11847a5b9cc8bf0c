"""V: Constraints of code systems, value sets, maps between them and naming systems.

Where no published key exists, the rule is prose of the standard and stands under the element that it is about.
"""

from __future__ import annotations

from collections.abc import Iterator

from bridge.check.invariants.registry import invariant
from bridge.check.invariants.values import all_different
from bridge.check.look import has, parts, text
from bridge.check.node import MAX_DEPTH, MAX_OBJECTS, Node
from bridge.shapes import Json


@invariant("V350", "csd-1", "CodeSystem")
def csd_1(node: Json, at: Node) -> bool:
    """Codes at every depth are compared, those of a contained code system apart from them."""
    return all_different(text(concept, "code") for concept in _concepts(node))


@invariant("V363", "CodeSystem.count", "CodeSystem")
def count_of_concepts(node: Json, at: Node) -> bool:
    """By the comment on count there are never more; that all are here is what complete means. What a grammar can
    put together is counted as its owner likes, and a supplement has no concepts of its own."""
    told, content = node.get("count"), text(node, "content")
    if content == "supplement" or not isinstance(told, int):
        return True
    here = sum(1 for _ in _concepts(node))
    return here == told if content == "complete" and not has(node, "compositional") else here <= told


@invariant("V364", "CodeSystem.content", "CodeSystem")
def none_present(node: Json, at: Node) -> bool:
    return text(node, "content") != "not-present" or not has(node, "concept")


@invariant("V365", "CodeSystem.concept.property.code", "CodeSystem")
def property_declared(node: Json, at: Node) -> bool:
    declared = {text(one, "code") for one in parts(node, "property")}
    return all(text(one, "code") in declared for one in _properties(node) if "code" in one)


@invariant("V366", "CodeSystem.concept.property.value[x]", "CodeSystem")
def property_of_its_type(node: Json, at: Node) -> bool:
    """The list of types explains `integer` as a string, so a string passes for it as well."""
    declared = {text(one, "code"): text(one, "type") for one in parts(node, "property")}
    return all(_fits(declared.get(text(one, "code"), ""), one) for one in _properties(node))


@invariant("V351", "cmd-1", "ConceptMap.group.element.target")
def cmd_1(node: Json, at: Node) -> bool:
    return text(node, "equivalence") not in ("narrower", "inexact") or has(node, "comment")


@invariant("V352", "cmd-2", "ConceptMap.group.unmapped")
def cmd_2(node: Json, at: Node) -> bool:
    return text(node, "mode") != "fixed" or has(node, "code")


@invariant("V353", "cmd-3", "ConceptMap.group.unmapped")
def cmd_3(node: Json, at: Node) -> bool:
    return text(node, "mode") != "other-map" or has(node, "url")


@invariant("V354", "nsd-1", "NamingSystem")
def nsd_1(node: Json, at: Node) -> bool:
    return text(node, "kind") != "root" or all(text(name, "type") != "uuid" for name in parts(node, "uniqueId"))


@invariant("V355", "nsd-2", "NamingSystem")
def nsd_2(node: Json, at: Node) -> bool:
    return all_different(text(n, "type") for n in parts(node, "uniqueId") if n.get("preferred") is True)


@invariant("V356", "vsd-1", "ValueSet.compose.include")
def vsd_1(node: Json, at: Node) -> bool:
    return has(node, "system", "valueSet")


@invariant("V357", "vsd-2", "ValueSet.compose.include")
def vsd_2(node: Json, at: Node) -> bool:
    return has(node, "system") or not has(node, "concept", "filter")


@invariant("V358", "vsd-3", "ValueSet.compose.include")
def vsd_3(node: Json, at: Node) -> bool:
    return not (has(node, "concept") and has(node, "filter"))


@invariant("V359", "vsd-6", "ValueSet.expansion.contains")
def vsd_6(node: Json, at: Node) -> bool:
    return has(node, "code", "display")


@invariant("V360", "vsd-9", "ValueSet.expansion.contains")
def vsd_9(node: Json, at: Node) -> bool:
    return has(node, "code") or node.get("abstract") is True


@invariant("V361", "vsd-10", "ValueSet.expansion.contains")
def vsd_10(node: Json, at: Node) -> bool:
    return not has(node, "code") or has(node, "system")


@invariant("V362", "tcp-1", "TerminologyCapabilities.codeSystem")
def tcp_1(node: Json, at: Node) -> bool:
    versions = parts(node, "version")
    return len(versions) < 2 or all(has(version, "code") for version in versions)


def _concepts(system: Json) -> Iterator[Json]:
    """The concepts of a code system, level by level, as far as they are looked at."""
    level = parts(system, "concept")
    for _ in range(MAX_DEPTH):
        if not level or len(level) > MAX_OBJECTS:
            return
        yield from level
        level = [inner for concept in level if "concept" in concept for inner in parts(concept, "concept")]


def _properties(system: Json) -> Iterator[Json]:
    return (one for concept in _concepts(system) if "property" in concept for one in parts(concept, "property"))


def _fits(type: str, property: Json) -> bool:
    if not type or has(property, f"value{type[0].upper()}{type[1:]}") or not has(property, "value[x]"):
        return True
    return type == "integer" and has(property, "valueString")
