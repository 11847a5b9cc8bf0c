"""V: Constraints of statements of capability, search parameters, operations, messages, guides and structure maps."""

from __future__ import annotations

import re

from bridge.check.invariants.registry import invariant
from bridge.check.invariants.values import all_different
from bridge.check.look import has, part, parts, text
from bridge.check.node import Node
from bridge.shapes import Json

_POSITIVE = re.compile(r"\+?0*[1-9][0-9]*")


@invariant("V370", "cpb-1", "CapabilityStatement")
def cpb_1(node: Json, at: Node) -> bool:
    return has(node, "rest", "messaging", "document")


@invariant("V371", "cpb-2", "CapabilityStatement")
@invariant("V371", "tcp-2", "TerminologyCapabilities")
def cpb_2(node: Json, at: Node) -> bool:
    return has(node, "description", "software", "implementation")


@invariant("V372", "cpb-3", "CapabilityStatement")
def cpb_3(node: Json, at: Node) -> bool:
    """Its text also requires an end point of an implementation, but the element is optional and both formal versions,
    FHIRPath and XPath, only forbid it elsewhere: so does this."""
    return text(node, "kind") == "instance" or not any(has(m, "endpoint") for m in parts(node, "messaging"))


@invariant("V373", "cpb-7", "CapabilityStatement")
def cpb_7(node: Json, at: Node) -> bool:
    return all_different((text(d, "profile"), text(d, "mode")) for d in parts(node, "document"))


@invariant("V374", "cpb-14", "CapabilityStatement")
@invariant("V374", "tcp-3", "TerminologyCapabilities")
def cpb_14(node: Json, at: Node) -> bool:
    return text(node, "kind") != "instance" or has(node, "implementation")


@invariant("V375", "cpb-15", "CapabilityStatement")
@invariant("V375", "tcp-4", "TerminologyCapabilities")
def cpb_15(node: Json, at: Node) -> bool:
    return text(node, "kind") != "capability" or (has(node, "software") and not has(node, "implementation"))


@invariant("V376", "cpb-16", "CapabilityStatement")
@invariant("V376", "tcp-5", "TerminologyCapabilities")
def cpb_16(node: Json, at: Node) -> bool:
    return text(node, "kind") != "requirements" or not has(node, "implementation", "software")


@invariant("V377", "cpb-9", "CapabilityStatement.rest")
def cpb_9(node: Json, at: Node) -> bool:
    return all_different(text(resource, "type") for resource in parts(node, "resource"))


@invariant("V378", "cpb-12", "CapabilityStatement.rest.resource")
def cpb_12(node: Json, at: Node) -> bool:
    return all_different(text(parameter, "name") for parameter in parts(node, "searchParam"))


@invariant("V380", "spd-1", "SearchParameter")
def spd_1(node: Json, at: Node) -> bool:
    return not has(node, "xpath") or has(node, "xpathUsage")


@invariant("V381", "spd-2", "SearchParameter")
def spd_2(node: Json, at: Node) -> bool:
    return not has(node, "chain") or text(node, "type") == "reference"


@invariant("V382", "opd-1", "OperationDefinition.parameter")
def opd_1(node: Json, at: Node) -> bool:
    return has(node, "type", "part")


@invariant("V383", "opd-2", "OperationDefinition.parameter")
def opd_2(node: Json, at: Node) -> bool:
    return not has(node, "searchType") or text(node, "type") == "string"


@invariant("V384", "opd-3", "OperationDefinition.parameter")
def opd_3(node: Json, at: Node) -> bool:
    return not has(node, "targetProfile") or text(node, "type") in ("Reference", "canonical")


@invariant("V385", "md-1", "MessageDefinition.focus")
def md_1(node: Json, at: Node) -> bool:
    """The element is optional; the published expression is empty where it is absent, which says nothing against it."""
    most = node.get("max")
    return not isinstance(most, str) or most == "*" or _POSITIVE.fullmatch(most) is not None


@invariant("V386", "ig-1", "ImplementationGuide.definition")
def ig_1(node: Json, at: Node) -> bool:
    """Groupings are named by the id of their element."""
    groupings = {text(grouping, "id") for grouping in parts(node, "grouping")}
    named = [text(resource, "groupingId") for resource in parts(node, "resource") if "groupingId" in resource]
    return groupings.issuperset(named)


@invariant("V387", "ig-2", "ImplementationGuide")
def ig_2(node: Json, at: Node) -> bool:
    resources = parts(part(node, "definition"), "resource")
    named = {version for resource in resources for version in _texts(resource, "fhirVersion")}
    return named.issubset(_texts(node, "fhirVersion"))


@invariant("V388", "smp-1", "StructureMap.group.rule.target")
def smp_1(node: Json, at: Node) -> bool:
    return not has(node, "element") or has(node, "context")


@invariant("V389", "smp-2", "StructureMap.group.rule.target")
def smp_2(node: Json, at: Node) -> bool:
    return not has(node, "context") or has(node, "contextType")


def _texts(node: Json, key: str) -> list[str]:
    values = node.get(key)
    return [value for value in values if isinstance(value, str)] if isinstance(values, list) else []
