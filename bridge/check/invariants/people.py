"""V: Constraints of resources about people, organizations, consent and groups."""

from __future__ import annotations

from collections.abc import Iterator

from bridge.check.invariants.registry import each, invariant
from bridge.check.invariants.values import TERMINOLOGY
from bridge.check.look import codings, has, text
from bridge.check.node import Node
from bridge.shapes import Json

_SCOPES = frozenset({"patient-privacy", "research", "adr", "treatment"})


@invariant("V163", "ppc-1", "Consent")
def ppc_1(node: Json, at: Node) -> bool:
    return has(node, "policy", "policyRule")


@invariant("V235", "ppc-2, ppc-3, ppc-4, ppc-5", "Consent")
def ppc_2(node: Json, at: Node) -> bool:
    """By the text, with the code system that the codes come from; the expression has a placeholder for it and so never
    speaks."""
    if has(node, "patient"):
        return True
    system = f"{TERMINOLOGY}consentscope"
    return not any(found == system and code in _SCOPES for found, code in codings(node, "scope"))


@invariant("V167", "Consent.provision.type", "Consent.provision")
def provision_type(node: Json, at: Node) -> bool:
    """Said in the definition of the element, which has no key. The root stands alone, nested ones in a list."""
    return has(node, "type") == at.element.many


@invariant("V164", "org-1", "Organization")
def org_1(node: Json, at: Node) -> bool:
    return has(node, "identifier", "name")


@each("V165", "org-2, org-3", "Organization")
def org_2(node: Json, at: Node) -> Iterator[str]:
    """The addresses and phones of the organization itself, not those of its contacts."""
    for key in ("address", "telecom"):
        items = node.get(key)
        for index, item in enumerate(items if isinstance(items, list) else ()):
            if text(item, "use") == "home":
                yield f".{key}[{index}]"


@invariant("V166", "pat-1", "Patient.contact")
def pat_1(node: Json, at: Node) -> bool:
    return has(node, "name", "telecom", "address", "organization")


@invariant("V237", "grp-1", "Group")
def grp_1(node: Json, at: Node) -> bool:
    return not has(node, "member") or node.get("actual") is True


@invariant("V238", "ipn-1", "InsurancePlan")
def ipn_1(node: Json, at: Node) -> bool:
    return has(node, "identifier", "name")


@invariant("V236", "ces-1", "CoverageEligibilityResponse.insurance.item")
def ces_1(node: Json, at: Node) -> bool:
    return has(node, "category") != has(node, "productOrService")
