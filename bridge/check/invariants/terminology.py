"""V: Constraints of code systems, value sets, maps between them and naming systems."""

from __future__ import annotations

from bridge.check.invariants.registry import invariant
from bridge.check.invariants.values import all_different
from bridge.check.look import has, parts, text
from bridge.check.node import Node
from bridge.shapes import Json


@invariant("V350", "csd-1", "CodeSystem")
def csd_1(node: Json, at: Node) -> bool:
    """Codes at every depth are compared, those of a contained code system apart from them."""
    codes: set[str] = set()
    waiting = parts(node, "concept")
    while waiting:
        concept = waiting.pop()
        code = concept.get("code")
        if isinstance(code, str):
            if code in codes:
                return False
            codes.add(code)
        if "concept" in concept:
            waiting += parts(concept, "concept")
    return True


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
