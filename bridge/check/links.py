"""B: rules of bundles and of references: everything that needs more than one object to be judged.

Source: https://hl7.org/fhir/R4/bundle.html, documents.html, messaging.html, references.html, http.html.
"""

from __future__ import annotations

from collections.abc import Iterator

from bridge.check.bundle_documents import Leads, check_reached, not_in_document
from bridge.check.bundle_messages import not_in_message
from bridge.check.bundle_responses import check_responses
from bridge.check.bundle_scopes import Scope, nowhere, scopes
from bridge.check.bundle_search import check_search
from bridge.check.contained import check_contained
from bridge.check.element_ids import check_element_ids
from bridge.check.entries import check_entries
from bridge.check.look import text
from bridge.check.node import Node
from bridge.check.parcels import not_in_parcel
from bridge.check.references import Target, address_after_type, form_problem, leads_into_another
from bridge.check.requests import check_requests
from bridge.fhir import tables
from bridge.issues import Issue, Where, issue
from bridge.safe_text import code_or

_DEFINITIONS = "http://hl7.org/fhir/StructureDefinition/"
_ABSTRACT = frozenset({"Resource", "DomainResource"})


def check_links(nodes: list[Node]) -> Iterator[Issue]:
    """Issues of bundles, of their entries, and of references; of what stands in no bundle only what it shows itself."""
    bundles, around = scopes(nodes)
    leads: Leads = {}
    alone = nowhere()
    for scope in bundles:
        yield from check_bundle_rules(scope)
    for node in nodes:
        if node.type == "Reference":
            yield from _reference(node, around.get(id(node.resource), alone), leads)
        if "contained" in node.value:
            yield from check_contained(node.value, node.path)
    for scope in bundles:
        if scope.type == "document":
            yield from check_reached(scope, leads)
    yield from check_element_ids(nodes)


def check_bundle_rules(scope: Scope) -> Iterator[Issue]:
    """Issues of the entries of one Bundle, without what their references lead to."""
    yield from check_entries(scope.bundle, scope.path)
    yield from check_requests(scope.bundle, scope.path)
    yield from check_responses(scope.bundle, scope.path)
    yield from check_search(scope.bundle, scope.path)


def _reference(node: Node, scope: Scope, leads: Leads) -> Iterator[Issue]:
    reference, told = text(node.value, "reference"), text(node.value, "type")
    where = Where(path=node.path)
    target = Target(None, "", False)
    if reference:
        known = reference in scope.answers.by_url
        if not known and (problem := form_problem(reference, scope.type == "transaction")):
            if address_after_type(reference):
                yield issue("B168", "A whole address stands after a kind of resource.", where)
            else:
                yield issue("B153", f"This reference {problem}.", where)
        elif not known and leads_into_another(reference):
            yield issue("B154", "This leads to something contained in another resource.", where)
        else:
            target = scope.answers.find(reference, node.resource)
            if target.resource is not None and reference[0] != "#":
                leads.setdefault(id(node.resource), []).append(target.resource)
            yield from _leads(node, reference, target, scope)
    told = told.removeprefix(_DEFINITIONS)
    if told and target.type and told != target.type and told not in _ABSTRACT:
        says, leads_to = code_or(told, "what is no kind of resource"), code_or(target.type, "something else")
        yield issue("B108", f"This reference says {says} but leads to {leads_to}.", where)
    allowed = node.element.targets
    type = target.type or (told if tables.is_resource(told) else "")
    if allowed and type and type not in allowed and "Resource" not in allowed:
        some = ", ".join(sorted(allowed)) if len(allowed) <= 8 else f"one of {len(allowed)} other types"
        told = code_or(type, "what is no kind of resource")
        yield issue("B107", f"This leads to {told}; allowed here: {some}.", where)


def _leads(node: Node, reference: str, target: Target, scope: Scope) -> Iterator[Issue]:
    where = Where(path=node.path)
    if target.several and scope.type != "history":
        yield issue("B156", "Several entries have the address that this leads to.", where)
    if id(target.resource) in scope.created and target.resource is not node.resource:
        yield issue("B146", "This leads to something that another entry of the batch creates.", where)
    if target.resource is not None or reference.startswith("#") or not scope.type:
        return
    if scope.type == "document":
        yield from not_in_document(node, reference, target, scope)
    else:
        yield from not_in_message(node, scope) or not_in_parcel(node, reference, target, scope)
