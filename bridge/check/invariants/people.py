"""V: Constraints of resources about people, organizations, consent and work to do."""

from __future__ import annotations

from bridge.check.invariants.registry import invariant
from bridge.check.look import has, parts, text
from bridge.check.node import Node
from bridge.moments import later
from bridge.shapes import Json


@invariant("V162", "inv-1", "Task")
def inv_1(node: Json, at: Node) -> bool:
    return not later(text(node, "authoredOn"), text(node, "lastModified"))


@invariant("V163", "ppc-1", "Consent")
def ppc_1(node: Json, at: Node) -> bool:
    return has(node, "policy", "policyRule")


@invariant("V164", "org-1", "Organization")
def org_1(node: Json, at: Node) -> bool:
    return has(node, "identifier", "name")


@invariant("V165", "org-2, org-3", "Organization")
def org_2(node: Json, at: Node) -> bool:
    return not any(text(c, "use") == "home" for key in ("address", "telecom") for c in parts(node, key))


@invariant("V166", "pat-1", "Patient.contact")
def pat_1(node: Json, at: Node) -> bool:
    return has(node, "name", "telecom", "address", "organization")


@invariant("V167", "Consent.provision.type", "Consent.provision")
def provision_type(node: Json, at: Node) -> bool:
    """Said in the definition of the element, which has no key. The root stands alone, nested ones in a list."""
    return has(node, "type") == at.element.many
